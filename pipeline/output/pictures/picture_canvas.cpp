// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pictures/picture_canvas.h"

#include <numbers>
#include <stdexcept>

namespace chalkfold::output {

PictureCanvas::PictureCanvas(cv::Mat& bgrx)
    : surface_(cairo_image_surface_create_for_data(bgrx.data, CAIRO_FORMAT_RGB24, bgrx.cols, bgrx.rows,
                                                   static_cast<int>(bgrx.step)),
               cairo_surface_destroy),
      cairo_(cairo_create(surface_.get()), cairo_destroy) {
  cairo_set_line_join(cairo_.get(), CAIRO_LINE_JOIN_ROUND);
}

void PictureCanvas::open(const Polyline& points) {
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (i == 0) cairo_move_to(cairo_.get(), points[i].x(), points[i].y());
    cairo_line_to(cairo_.get(), points[i].x(), points[i].y());
  }
}

void PictureCanvas::closed(const Polyline& points) {
  open(points);
  cairo_close_path(cairo_.get());
}

void PictureCanvas::segment(const Vec2& a, const Vec2& b) {
  cairo_move_to(cairo_.get(), a.x(), a.y());
  cairo_line_to(cairo_.get(), b.x(), b.y());
}

void PictureCanvas::circle(const Vec2& centre, double radius) {
  cairo_new_sub_path(cairo_.get());
  cairo_arc(cairo_.get(), centre.x(), centre.y(), radius, 0, 2 * std::numbers::pi);
  cairo_close_path(cairo_.get());
}

void PictureCanvas::dashes(const std::vector<double>& lengths) {
  cairo_set_dash(cairo_.get(), lengths.data(), static_cast<int>(lengths.size()), 0);
}

void PictureCanvas::stroke(const CanvasColour& colour, double width, double halo) {
  set_colour(canvas_paper);
  cairo_set_line_width(cairo_.get(), width + 2 * halo);
  cairo_stroke_preserve(cairo_.get());
  set_colour(colour);
  cairo_set_line_width(cairo_.get(), width);
  cairo_stroke(cairo_.get());
}

void PictureCanvas::box(const Vec2& corner, const Vec2& size, const CanvasColour& colour) {
  set_colour(colour);
  cairo_rectangle(cairo_.get(), corner.x(), corner.y(), size.x(), size.y());
  cairo_fill(cairo_.get());
}

double PictureCanvas::text(const Vec2& at, const std::string& words, double size, bool bold, double room) {
  cairo_select_font_face(cairo_.get(), "sans-serif", CAIRO_FONT_SLANT_NORMAL,
                         bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(cairo_.get(), size);
  cairo_text_extents_t extents{};
  cairo_text_extents(cairo_.get(), words.c_str(), &extents);
  if (extents.x_advance > room) {
    cairo_set_font_size(cairo_.get(), size * room / extents.x_advance);
    extents.x_advance = room;
  }
  set_colour(canvas_ink);
  cairo_move_to(cairo_.get(), at.x(), at.y());
  cairo_show_text(cairo_.get(), words.c_str());
  return extents.x_advance;
}

void PictureCanvas::finish() {
  cairo_surface_flush(surface_.get());
  if (cairo_status(cairo_.get()) != CAIRO_STATUS_SUCCESS) {
    throw std::runtime_error(std::string("drawing a picture: ") + cairo_status_to_string(cairo_status(cairo_.get())));
  }
}

void PictureCanvas::set_colour(const CanvasColour& c) { cairo_set_source_rgb(cairo_.get(), c.r, c.g, c.b); }

}  // namespace chalkfold::output
