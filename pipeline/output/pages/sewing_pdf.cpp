// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pages/sewing_pdf.h"

#include <fmt/format.h>

#include <algorithm>

#include "calib/page_canvas.h"
#include "pipeline/common/utf8.h"
#include "pipeline/output/pages/pdf_words.h"
#include "pipeline/output/words/cautions.h"
#include "pipeline/output/words/sewing_words.h"

namespace chalkfold::output {
namespace {

constexpr double margin = 18;                            // mm, room for a clip and a thumb
constexpr double foot = 8;                               // mm
constexpr double indent = 9;                             // mm, of what stands beside a box to tick
constexpr double tick_box = 5;                           // mm
constexpr double paragraph = 3;                          // mm between two paragraphs
constexpr double heading_pitch = 6.5, title_pitch = 12;  // mm
constexpr double frame = 2;                              // mm around a caution
constexpr double frame_line = 0.35, rule = 0.2;          // mm

/// Something that stands on a page, top to bottom.
struct Line {
  enum class Kind { title, step, strong, words, caution_start, caution, caution_end, gap } kind = Kind::words;
  std::string words;
  bool indented = false;
};

/// Lines that are not to be parted.
using Block = std::vector<Line>;

double height_of(const Line& line) {
  switch (line.kind) {
    case Line::Kind::title:
      return title_pitch;
    case Line::Kind::step:
    case Line::Kind::strong:
      return heading_pitch;
    case Line::Kind::caution_start:
    case Line::Kind::caution_end:
      return frame;
    case Line::Kind::gap:
      return paragraph;
    default:
      return line_pitch;
  }
}

double height_of(const Block& block) {
  double height = 0;
  for (const Line& line : block) height += height_of(line);
  return height;
}

/// Breaks words into lines of blocks and blocks into pages.
class Sheet {
 public:
  explicit Sheet(const calib::PageCanvas& canvas) : canvas_(canvas) {}

  void begin_block() { blocks_.emplace_back(); }
  void add(Line::Kind kind, const std::string& words = "", bool indented = false) {
    const bool large = kind == Line::Kind::step || kind == Line::Kind::strong;
    if (!large && kind != Line::Kind::words && kind != Line::Kind::caution) {
      blocks_.back().push_back({kind, words, indented});
      return;
    }
    double room = canvas_.width() - 2 * margin - (indented ? indent : 0);
    if (kind == Line::Kind::caution) room -= 2 * frame;
    if (large)
      room *= calib::capital_height(calib::Lettering::label) / calib::capital_height(calib::Lettering::heading);
    for (const std::string& line : wrapped(canvas_, words, room)) {
      blocks_.back().push_back({kind, line, indented});
      if (kind == Line::Kind::step) kind = Line::Kind::strong;  // one box for a heading of several lines
    }
  }
  void add_caution(const std::string& words, bool indented) {
    add(Line::Kind::caution_start, "", indented);
    add(Line::Kind::caution, "CAUTION. " + words, indented);
    add(Line::Kind::caution_end, "", indented);
  }

  std::vector<std::vector<Line>> pages() const {
    const double room = canvas_.height() - 2 * margin - foot;
    std::vector<std::vector<Line>> pages(1);
    double used = 0;
    for (const Block& block : blocks_) {
      const double wanted = height_of(block);
      if (used > 0 && used + wanted > room && wanted <= room) {
        pages.emplace_back();
        used = 0;
      }
      for (const Line& line : block) {
        if (used + height_of(line) > room) {
          pages.emplace_back();
          used = 0;
        }
        pages.back().push_back(line);
        used += height_of(line);
      }
    }
    return pages;
  }

 private:
  const calib::PageCanvas& canvas_;
  std::vector<Block> blocks_;
};

/// One line whose top left is `at`; `caution_top` is where the caution that it belongs to began.
void draw_line(calib::PageCanvas& canvas, const Line& line, const Vec2& at, double& caution_top) {
  const double right = canvas.width() - margin;
  const auto box = [&](const Vec2& min, const Vec2& max) {
    canvas.outline({min, {max.x(), min.y()}, max, {min.x(), max.y()}}, frame_line);
  };
  const Vec2 base = at + Vec2(0, calib::capital_height(calib::Lettering::label) + 0.5);
  switch (line.kind) {
    case Line::Kind::title:
      canvas.text(at + Vec2(0, calib::capital_height(calib::Lettering::title)), line.words, calib::Lettering::title);
      break;
    case Line::Kind::step:
      box({margin, at.y()}, {margin + tick_box, at.y() + tick_box});
      [[fallthrough]];
    case Line::Kind::strong:
      canvas.text(at + Vec2(0, calib::capital_height(calib::Lettering::heading) + 0.5), line.words,
                  calib::Lettering::heading);
      break;
    case Line::Kind::words:
      canvas.text(base, line.words, calib::Lettering::label);
      break;
    case Line::Kind::caution_start:
      caution_top = at.y();
      break;
    case Line::Kind::caution:
      canvas.text(base + Vec2(frame, 0), line.words, calib::Lettering::label);
      break;
    case Line::Kind::caution_end:
      box({at.x(), caution_top}, {right, at.y() + frame});
      break;
    case Line::Kind::gap:
      break;
  }
}

void draw_page(calib::PageCanvas& canvas, const std::vector<Line>& lines, const std::string& foot_words) {
  double top = margin, caution_top = margin;
  for (const Line& line : lines) {
    draw_line(canvas, line, {margin + (line.indented ? indent : 0), top}, caution_top);
    top += height_of(line);
  }
  const double bottom = canvas.height() - margin;
  canvas.line({margin, bottom - foot + 2}, {canvas.width() - margin, bottom - foot + 2}, rule);
  canvas.text({margin, bottom}, foot_words, calib::Lettering::label);
}

void add_opening(Sheet& sheet, const Results& results, const std::string& job) {
  sheet.begin_block();
  sheet.add(Line::Kind::title, job.empty() ? "Sewing sheet" : "Sewing sheet: " + job);
  for (const std::string& words : sheet_words(results)) {
    sheet.add(Line::Kind::words, words);
    sheet.add(Line::Kind::gap);
  }
  sheet.add_caution(workshop_caution(), false);
  sheet.add(Line::Kind::gap);
  if (sews_by_airbag(results)) {
    sheet.add_caution(airbag_caution(), false);
    sheet.add(Line::Kind::gap);
  }
  for (const Fault& fault : results.sewing->sheet.faults) {
    sheet.add(Line::Kind::words, "Note: " + fault.seen + ". " + fault.remedy);
    sheet.add(Line::Kind::gap);
  }
}

void add_step(Sheet& sheet, const StepWords& step) {
  sheet.begin_block();
  sheet.add(Line::Kind::step, step.heading, true);
  for (std::size_t i = 0; i < step.facts.size(); ++i)
    sheet.add(i == 0 && step.fit ? Line::Kind::strong : Line::Kind::words, step.facts[i], true);
  for (const std::string& caution : step.cautions) {
    sheet.add(Line::Kind::gap);
    sheet.add_caution(caution, true);
  }
  sheet.add(Line::Kind::gap);
  sheet.add(Line::Kind::gap);
}

}  // namespace

std::string sewing_pdf(const Results& results, const PdfPages& pages) {
  PdfPages paper;
  paper.paper = pages.paper == PdfPaper::letter ? PdfPaper::letter : PdfPaper::a4;
  const Vec2 size = paper_size(paper);
  const std::string job = results.pieces.empty() ? "" : plain_text(results.pieces.front().piece.job);
  calib::PageCanvas canvas(size.x(), size.y(), "sewing sheet");
  Sheet sheet(canvas);
  add_opening(sheet, results, job);
  for (const StepWords& step : step_words(results)) add_step(sheet, step);
  const auto all = sheet.pages();
  for (std::size_t i = 0; i < all.size(); ++i) {
    draw_page(canvas, all[i],
              fmt::format("Sewing sheet{}, page {} of {}", job.empty() ? "" : ", " + job, i + 1, all.size()));
    canvas.end_page();
  }
  return canvas.finish();
}

}  // namespace chalkfold::output
