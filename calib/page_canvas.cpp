// SPDX-License-Identifier: Apache-2.0
#include "calib/page_canvas.h"

#include <cairo-pdf.h>
#include <cairo.h>

#include <algorithm>
#include <numbers>
#include <stdexcept>
#include <utility>

namespace chalkfold::calib {

namespace {
constexpr double points_per_mm = 72 / 25.4;
// Capitals of Cairo's built-in letters stand 0.7 of the font size.
constexpr double capital_of_size = 0.7;

double font_size(Lettering lettering) {
  switch (lettering) {
    case Lettering::small:
      return 2.1;
    case Lettering::label:
      return 3.0;
    case Lettering::heading:
      return 4.0;
    case Lettering::title:
      return 6.5;
  }
  return 3.0;
}

bool is_bold(Lettering lettering) { return lettering == Lettering::heading || lettering == Lettering::title; }

cairo_status_t append(void* file, const unsigned char* bytes, unsigned int count) {
  static_cast<std::string*>(file)->append(reinterpret_cast<const char*>(bytes), count);
  return CAIRO_STATUS_SUCCESS;
}
}  // namespace

double capital_height(Lettering lettering) { return capital_of_size * font_size(lettering); }

struct PageCanvas::Cairo {
  std::string file;
  cairo_surface_t* surface = nullptr;
  cairo_t* context = nullptr;

  void ink(PageInk ink) const {
    const double level = ink == PageInk::black ? 0.0 : ink == PageInk::pencil ? 0.5 : ink == PageInk::grey ? 0.82 : 1.0;
    cairo_set_source_rgb(context, level, level, level);
  }
  void pen(double line_width, double dash) const {
    cairo_set_line_width(context, line_width);
    cairo_set_dash(context, &dash, dash > 0 ? 1 : 0, 0);
  }
  void path(const Polyline& closed) const {
    for (const Vec2& p : closed) cairo_line_to(context, p.x(), p.y());
    cairo_close_path(context);
  }
  void letters(const std::string& words, Lettering lettering) const {
    const bool ascii = std::all_of(words.begin(), words.end(), [](unsigned char c) { return c < 0x80; });
    cairo_select_font_face(context, ascii ? "@cairo:" : "sans-serif", CAIRO_FONT_SLANT_NORMAL,
                           is_bold(lettering) ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(context, font_size(lettering));
  }
  double advance(const std::string& words) const {
    cairo_text_extents_t extents;
    cairo_text_extents(context, words.c_str(), &extents);
    return extents.x_advance;
  }
};

PageCanvas::PageCanvas(double width, double height, const std::string& title)
    : cairo_(std::make_unique<Cairo>()), width_(width), height_(height) {
  cairo_->surface =
      cairo_pdf_surface_create_for_stream(append, &cairo_->file, width * points_per_mm, height * points_per_mm);
  // 1.4 has the plain cross-reference table that ask_for_actual_size() adds to.
  cairo_pdf_surface_restrict_to_version(cairo_->surface, CAIRO_PDF_VERSION_1_4);
  cairo_pdf_surface_set_metadata(cairo_->surface, CAIRO_PDF_METADATA_TITLE, title.c_str());
  cairo_pdf_surface_set_metadata(cairo_->surface, CAIRO_PDF_METADATA_CREATE_DATE, "");  // else Cairo writes today's
  cairo_->context = cairo_create(cairo_->surface);
  cairo_scale(cairo_->context, points_per_mm, points_per_mm);
  cairo_font_options_t* options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_set_font_options(cairo_->context, options);
  cairo_font_options_destroy(options);
  cairo_->ink(PageInk::black);
}

PageCanvas::~PageCanvas() {
  cairo_destroy(cairo_->context);
  cairo_surface_destroy(cairo_->surface);
}

void PageCanvas::end_page() { cairo_show_page(cairo_->context); }

void PageCanvas::resize(double width, double height) {
  cairo_pdf_surface_set_size(cairo_->surface, width * points_per_mm, height * points_per_mm);
  width_ = width;
  height_ = height;
}

std::string PageCanvas::finish() {
  cairo_surface_finish(cairo_->surface);
  for (const cairo_status_t status : {cairo_status(cairo_->context), cairo_surface_status(cairo_->surface)}) {
    if (status != CAIRO_STATUS_SUCCESS)
      throw std::runtime_error(std::string("pages not drawn: ") + cairo_status_to_string(status));
  }
  return std::move(cairo_->file);
}

void PageCanvas::add_box(const Vec2& min, const Vec2& max) {
  // Corner by corner: cairo_rectangle rounds width and height by themselves, and neighbours would part by 1/256 pt.
  cairo_move_to(cairo_->context, min.x(), min.y());
  cairo_line_to(cairo_->context, max.x(), min.y());
  cairo_line_to(cairo_->context, max.x(), max.y());
  cairo_line_to(cairo_->context, min.x(), max.y());
  cairo_close_path(cairo_->context);
}

void PageCanvas::fill_boxes() { cairo_fill(cairo_->context); }

void PageCanvas::line(const Vec2& from, const Vec2& to, double line_width, double dash) {
  cairo_->pen(line_width, dash);
  cairo_move_to(cairo_->context, from.x(), from.y());
  cairo_line_to(cairo_->context, to.x(), to.y());
  cairo_stroke(cairo_->context);
}

void PageCanvas::outline(const Polyline& closed, double line_width, double dash) {
  cairo_->pen(line_width, dash);
  cairo_->path(closed);
  cairo_stroke(cairo_->context);
}

void PageCanvas::path(const Polyline& points, const Pen& pen, bool closed) {
  cairo_t* c = cairo_->context;
  cairo_save(c);
  cairo_->ink(pen.ink);
  cairo_set_line_width(c, pen.width);
  cairo_set_line_join(c, CAIRO_LINE_JOIN_ROUND);
  cairo_set_dash(c, pen.dashes.data(), static_cast<int>(pen.dashes.size()), pen.dashed_before);
  for (const Vec2& p : points) cairo_line_to(c, p.x(), p.y());
  if (closed) cairo_close_path(c);
  cairo_stroke(c);
  cairo_restore(c);
}

void PageCanvas::fill(const Polyline& closed, PageInk ink) {
  cairo_->path(closed);
  cairo_->ink(ink);
  cairo_fill(cairo_->context);
  cairo_->ink(PageInk::black);
}

void PageCanvas::circle(const Vec2& centre, double radius, double line_width) {
  cairo_->pen(line_width, 0);
  cairo_new_sub_path(cairo_->context);
  cairo_arc(cairo_->context, centre.x(), centre.y(), radius, 0, 2 * std::numbers::pi);
  cairo_stroke(cairo_->context);
}

void PageCanvas::text(const Vec2& at, const std::string& words, Lettering lettering, Align align, PageInk ink) {
  cairo_->letters(words, lettering);
  const double back = align == Align::left ? 0.0 : align == Align::centre ? 0.5 : 1.0;
  cairo_move_to(cairo_->context, at.x() - back * cairo_->advance(words), at.y());
  cairo_->ink(ink);
  cairo_show_text(cairo_->context, words.c_str());
  cairo_new_path(cairo_->context);
  cairo_->ink(PageInk::black);
}

double PageCanvas::text_width(const std::string& words, Lettering lettering) const {
  cairo_->letters(words, lettering);
  return cairo_->advance(words);
}

PageCanvas::Clipped::Clipped(PageCanvas& canvas, const Vec2& min, const Vec2& max) : canvas_(canvas) {
  cairo_save(canvas_.cairo_->context);
  cairo_rectangle(canvas_.cairo_->context, min.x(), min.y(), max.x() - min.x(), max.y() - min.y());
  cairo_clip(canvas_.cairo_->context);
}

PageCanvas::Clipped::~Clipped() { cairo_restore(canvas_.cairo_->context); }

PageCanvas::Placed::Placed(PageCanvas& canvas, const Vec2& at, double angle, double scale) : canvas_(canvas) {
  cairo_save(canvas_.cairo_->context);
  cairo_translate(canvas_.cairo_->context, at.x(), at.y());
  cairo_rotate(canvas_.cairo_->context, angle);
  cairo_scale(canvas_.cairo_->context, scale, scale);
}

PageCanvas::Placed::~Placed() { cairo_restore(canvas_.cairo_->context); }

}  // namespace chalkfold::calib
