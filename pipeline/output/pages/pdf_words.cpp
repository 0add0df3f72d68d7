// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/pages/pdf_words.h"

#include <fmt/format.h>

#include <algorithm>

#include "pipeline/common/utf8.h"
#include "pipeline/output/pages/pdf_layout.h"
#include "pipeline/output/words/cautions.h"

namespace chalkfold::output {

namespace {
constexpr double paragraph = 1.5;   // mm between paragraphs
constexpr double frame = 2;         // mm around the framed caution
constexpr double bar_line = 0.35;   // mm
constexpr double words_room = 300;  // mm; longer lines are hard to read
constexpr double after_bar = 8;     // mm between the bar and the words beside it

constexpr const char* gluing =
    "Cut each page along its left and upper crop marks where it has a neighbour there, lay that edge on the "
    "neighbour's "
    "dashed line, cross on cross, and glue. Grey fields of the map have no page.";

double room_for_words(const calib::PageCanvas& canvas) {
  return std::min(words_room, canvas.width() - 2 * page_margin);
}

/// The words, or as many of their letters as fit, with dots.
std::string fitting(const calib::PageCanvas& canvas, const std::string& words, calib::Lettering lettering,
                    double room) {
  if (canvas.text_width(words, lettering) <= room) return words;
  std::u32string letters = code_points(words);
  while (!letters.empty() && canvas.text_width(utf8_from(letters) + "...", lettering) > room) letters.pop_back();
  return utf8_from(letters) + "...";
}

double height_of(const std::vector<std::string>& lines) { return line_pitch * static_cast<double>(lines.size()); }

double draw_lines(calib::PageCanvas& canvas, const std::vector<std::string>& lines, double x, double top) {
  for (const std::string& line : lines) {
    canvas.text({x, top + calib::capital_height(calib::Lettering::label) + 0.5}, line, calib::Lettering::label);
    top += line_pitch;
  }
  return top;
}

void draw_check_bar(calib::PageCanvas& canvas, const Vec2& left) {
  constexpr double end_tick = 3, tick = 1.5;  // mm
  constexpr int steps = 10;
  canvas.line(left, left + Vec2(pdf_check_bar, 0), bar_line);
  for (int i = 0; i <= steps; ++i) {
    const double at = pdf_check_bar * i / steps;
    const bool end = i == 0 || i == steps;
    canvas.line(left + Vec2(at, 0), left + Vec2(at, end ? -end_tick : -tick), end ? bar_line : 0.5 * bar_line);
  }
}

std::string copies(const draft::Piece& piece) {
  return fmt::format("cut {}{}", piece.quantity, piece.one_mirrored ? ", one mirrored" : "");
}

std::string joined(const std::string& a, const std::string& b) { return a.empty() || b.empty() ? a + b : a + ", " + b; }
}  // namespace

std::vector<std::string> wrapped(const calib::PageCanvas& canvas, const std::string& words, double room) {
  std::vector<std::string> lines(1);
  for (std::size_t at = 0; at < words.size();) {
    const std::size_t end = std::min(words.find(' ', at), words.size());
    const std::string word = words.substr(at, end - at);
    std::string& line = lines.back();
    const std::string longer = line.empty() ? word : fmt::format("{} {}", line, word);
    if (line.empty() || canvas.text_width(longer, calib::Lettering::label) <= room) {
      line = longer;
    } else {
      lines.push_back(word);
    }
    at = end + 1;
  }
  return lines;
}

FirstWords first_words(const calib::PageCanvas& canvas, bool cautious, bool tiled) {
  const double room = room_for_words(canvas);
  FirstWords words;
  words.height = line_pitch + paragraph;  // the key
  words.workshop = wrapped(canvas, workshop_caution(), room);
  words.height += height_of(words.workshop) + paragraph;
  if (tiled) {
    words.gluing = wrapped(canvas, gluing, room);
    words.height += height_of(words.gluing) + paragraph;
  }
  if (cautious) {
    words.airbag = wrapped(canvas, "CAUTION. " + airbag_caution(), room - 2 * frame);
    words.height += height_of(words.airbag) + 2 * frame + paragraph;
  }
  return words;
}

void draw_first_words(calib::PageCanvas& canvas, const FirstWords& words, const LineStyles& styles) {
  const double room = room_for_words(canvas);
  double top = page_margin;
  if (!words.airbag.empty()) {
    const double bottom = top + height_of(words.airbag) + 2 * frame;
    canvas.path({{page_margin, top}, {page_margin + room, top}, {page_margin + room, bottom}, {page_margin, bottom}},
                {bar_line, {}}, true);
    draw_lines(canvas, words.airbag, page_margin + frame, top + frame);
    top = bottom + paragraph;
  }
  top = draw_lines(canvas, words.workshop, page_margin, top) + paragraph;
  if (!words.gluing.empty()) top = draw_lines(canvas, words.gluing, page_margin, top) + paragraph;
  draw_key(canvas, {page_margin, top + calib::capital_height(calib::Lettering::label) + 0.5}, styles, room);
}

void draw_foot(calib::PageCanvas& canvas, const draft::Piece& piece, const std::string& page_name,
               const std::string& page_number) {
  const double top = canvas.height() - page_margin - page_foot, right = canvas.width() - page_margin;
  canvas.text({page_margin, top + 9}, "Check that this bar is 100 mm. Print at 100 %.", calib::Lettering::label);
  draw_check_bar(canvas, {page_margin, top + 16});
  const double left = page_margin + pdf_check_bar + after_bar;
  const double beside = right - left -
                        std::max(canvas.text_width(page_name, calib::Lettering::title),
                                 canvas.text_width(page_number, calib::Lettering::label)) -
                        3;
  canvas.text({left, top + 7}, fitting(canvas, piece.name, calib::Lettering::heading, beside),
              calib::Lettering::heading);
  canvas.text({left, top + 11.2}, fitting(canvas, joined(piece.part, piece.job), calib::Lettering::label, beside),
              calib::Lettering::label);
  canvas.text({left, top + 15.4},
              fitting(canvas, joined(fmt::format("piece {}, {}", piece.number, copies(piece)), piece.material),
                      calib::Lettering::label, beside),
              calib::Lettering::label);
  canvas.text({left, top + 19.6}, piece.side == draft::Side::face ? "shows the FACE" : "shows the INSIDE",
              calib::Lettering::heading);
  canvas.text({right, top + 8}, page_name, calib::Lettering::title, calib::Align::right);
  canvas.text({right, top + 19.6}, page_number, calib::Lettering::label, calib::Align::right);
}

std::string pdf_title(const draft::Piece& piece) {
  return plain_text(piece.name) + (piece.side == draft::Side::face ? ", face" : ", inside");
}

}  // namespace chalkfold::output
