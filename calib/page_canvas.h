// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::calib {

/// pencil: a mid grey, for lines that only guide
enum class PageInk { black, pencil, grey, white };
enum class Align { left, centre, right };

/// The few sizes of lettering that the pages use (each costs its own set of letters in the file).
enum class Lettering { small, label, heading, title };

/// Height of a capital letter, mm.
double capital_height(Lettering lettering);

/// How a path is drawn: mm; dashes are lengths on and off in turn, none for a solid line. Ends are cut square, corners round.
struct Pen {
  double width = 0.35;
  std::vector<double> dashes;
  PageInk ink = PageInk::black;
  /// length of the line before the path's start, for dashes to go on as if it had been drawn
  double dashed_before = 0;
};

/// Vector pages, drawn in the page frame: mm, x right, y DOWN, origin at the paper's top-left corner,
/// unless a Placed frame is open. Places are kept to 1/256 pt (0.0014 mm). The letters are Cairo's built-in ones, so
/// that the file does not depend on the fonts of the machine; only a text with other letters than ASCII is set in the machine's
/// sans-serif. Drawing never fails; finish() throws std::runtime_error
/// when Cairo ran out of memory.
class PageCanvas {
 public:
  PageCanvas(double width, double height, const std::string& title);
  ~PageCanvas();
  PageCanvas(const PageCanvas&) = delete;
  PageCanvas& operator=(const PageCanvas&) = delete;

  double width() const { return width_; }
  double height() const { return height_; }

  void end_page();
  /// The size of the page that is about to be drawn and of those after it. Precondition: nothing is drawn on it yet.
  void resize(double width, double height);
  /// The PDF file's bytes, the same for the same drawing: it holds no date. Nothing can be drawn afterwards.
  std::string finish();

  /// Boxes are gathered into one shape and painted together by fill_boxes: neighbours that share an edge then leave no
  /// hairline between them, whatever the smoothing of the printer or viewer. Give a shared edge the same number from
  /// both sides.
  void add_box(const Vec2& min, const Vec2& max);
  void fill_boxes();

  void line(const Vec2& from, const Vec2& to, double line_width, double dash = 0);
  void outline(const Polyline& closed, double line_width, double dash = 0);
  void path(const Polyline& points, const Pen& pen, bool closed = false);
  void fill(const Polyline& closed, PageInk ink);
  void circle(const Vec2& centre, double radius, double line_width);
  /// Text on its baseline, `at` being its left end, middle or right end.
  void text(const Vec2& at, const std::string& words, Lettering lettering, Align align = Align::left,
            PageInk ink = PageInk::black);
  double text_width(const std::string& words, Lettering lettering) const;

  /// While it lives, drawing is in a frame with its origin at `at`, turned clockwise on the page by `angle` rad and
  /// scaled (lines too).
  class Placed {
   public:
    Placed(PageCanvas& canvas, const Vec2& at, double angle, double scale = 1);
    ~Placed();
    Placed(const Placed&) = delete;
    Placed& operator=(const Placed&) = delete;

   private:
    PageCanvas& canvas_;
  };

  /// While it lives, nothing is drawn outside the box (page frame).
  class Clipped {
   public:
    Clipped(PageCanvas& canvas, const Vec2& min, const Vec2& max);
    ~Clipped();
    Clipped(const Clipped&) = delete;
    Clipped& operator=(const Clipped&) = delete;

   private:
    PageCanvas& canvas_;
  };

 private:
  struct Cairo;
  std::unique_ptr<Cairo> cairo_;
  double width_, height_;
};

}  // namespace chalkfold::calib
