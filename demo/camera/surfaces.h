// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <opencv2/core.hpp>

#include "demo/base/outline_field.h"
#include "demo/base/scene.h"
#include "demo/design/tool_shapes.h"

namespace chalkfold::demo {

/// A line of sight: point(z) = foot + z * slope for z >= 0.
struct Sight {
  /// where it meets z = 0
  Vec2 foot = Vec2::Zero();
  /// sideways shift per mm of height
  Vec2 slope = Vec2::Zero();
  Vec2 at(double z) const { return foot + z * slope; }
};

enum class Surface : std::uint8_t { table, paper, ink, panel_face, tool_face, wall, thread };

/// What a line of sight meets first.
struct Hit {
  Surface surface = Surface::table;
  /// card, solid, or thread group
  int index = 0;
  /// thread colour
  int detail = 0;
  double z = 0;
  Vec2 at = Vec2::Zero();
  /// of walls
  Vec2 normal = Vec2::Zero();
  /// some border passes within the asked radius: one sample does not tell the pixel
  bool near_edge = false;
  /// Equal for two hits of one pixel exactly when they share one colour.
  std::uint32_t key() const {
    return static_cast<std::uint32_t>(surface) << 24 | static_cast<std::uint32_t>(index) << 8 |
           static_cast<std::uint32_t>(detail);
  }
};

/// A flat body: a panel or a part of a tool.
struct Solid {
  OutlineField field;
  double thickness = 1;
  /// or
  const LaidPanel* panel = nullptr;
  const ToolPart* part = nullptr;
  const Tool* tool = nullptr;
  /// chalk on a panel, print on a tool
  StrokeField marks{};
  /// tags: the row's number
  StrokeField needle_holes{};
  /// tags: the crease's number
  StrokeField creases{};
};

/// A printed sheet or tag, or blank paper: no columns and no markers.
struct Card {
  geometry::Rigid2 card_from_table;
  /// of the paper
  double width = 0, height = 0;
  /// true over nominal
  double scale_x = 1, scale_y = 1;
  /// on the table
  geometry::Box box;
  /// of squares; 0 for a tag and for blank paper
  int columns = 0, rows = 0;
  /// 7 x 7 cells, border included, 0 = black, top row first
  std::vector<cv::Mat> markers;
  /// number and check bars, nominal page mm
  StrokeField print;
};

struct ThreadGroup {
  StrokeField field;
  std::vector<Colour> colours;
  double height = 0;
};

/// Things that a part of the picture may show or be shaded by.
struct Candidates {
  std::vector<int> solids, cards, threads, shaders;
};

/// The scene made ready for tracing. Keeps references into the scene, which must outlive it.
class Surfaces {
 public:
  explicit Surfaces(const Scene& scene);
  Surfaces(const Surfaces&) = delete;
  Surfaces& operator=(const Surfaces&) = delete;

  const Scene& scene() const { return scene_; }
  const std::vector<Solid>& solids() const { return solids_; }
  const std::vector<Card>& cards() const { return cards_; }
  const std::vector<ThreadGroup>& threads() const { return threads_; }

  /// For lines of sight with their feet in the box and slopes up to `slope`.
  Candidates candidates(const geometry::Box& feet, double slope, double radius) const;

  /// `radius` (mm, at most OutlineField::near_limit): see Hit::near_edge; 0 leaves it false.
  Hit hit(const Sight& sight, double radius, const Candidates& among) const;

 private:
  void add_panels();
  void add_tools();
  void add_cards();
  void hit_card(int index, const Sight& sight, double radius, Hit& best) const;
  void hit_solid(int index, const Sight& sight, double radius, Hit& best) const;
  void hit_threads(int index, const Sight& sight, double radius, Hit& best) const;

  const Scene& scene_;
  std::vector<std::unique_ptr<ToolPart>> parts_;
  std::vector<Solid> solids_;
  std::vector<Card> cards_;
  std::vector<ThreadGroup> threads_;
};

/// A crease shades out to so many of its widths: there exp(-r r / 2) is below 0.02.
inline constexpr double crease_reach = 3;

/// How far (mm) a body of this thickness darkens the table visibly.
double shade_reach(double thickness);

}  // namespace chalkfold::demo
