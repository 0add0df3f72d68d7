// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "calib/lens.h"
#include "demo/material.h"
#include "demo/stroke_field.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::demo {

/// A photograph to be rendered, and the truth about it, in one struct. All places are in the table frame: mm, x right,
/// y away from the viewer, z up, z = 0 on the table and the sheets' printed face.

struct Camera {
  Lens lens;  ///< sensor frame (as stored), with this photo's focal change and centre shift already in it
  int orientation =
      1;      ///< EXIF: 1 stored upright, 3 upside down, 6 turn 90 deg clockwise to see it upright, 8 anticlockwise
  Pose pose;  ///< of the upright picture
};

/// The lens as it describes the upright picture.
Lens upright_lens(const Camera& camera);

struct SheetOnTable {
  int number = 1;          ///< 1..20
  Vec2 at = Vec2::Zero();  ///< board centre
  double theta = 0;        ///< rad, counter-clockwise from the page's x
};

struct TagOnTable {
  int number = 1;  ///< 1..99
  Vec2 at = Vec2::Zero();
  double theta = 0;
};

/// True size over nominal size of everything printed in one run, across (x) and along (y) the page.
struct PrintScale {
  double x = 1, y = 1;
};

struct Mark {
  std::string kind;  ///< match, centre, grain, underside, text, notch, hole, ring
  /// What the truth file says: edge then inner end; tail then head; lower left and upper right of the box; a hole's
  /// centre; the middle of a ring's stroke from its beginning to its end.
  Polyline points;
  std::optional<int> group{};  ///< match marks drawn together share a number; a text that belongs to them has it too
  std::string style{};         ///< of a grain arrow's head: open, filled; of a notch: vee, round, slit
  std::optional<bool> directed{};  ///< grain: false with a head at both ends
  double width = 0;                ///< mm, of the stroke; of a notch's mouth
  double depth = 0;                ///< mm, notch
  double diameter = 0;             ///< mm, hole
  double height = 0;               ///< mm, of letters
  std::optional<double> up{};      ///< rad, direction in which letters stand
};

/// The old seam's needle holes.
struct NeedleRow {
  Polyline holes;         ///< centres, in order; none where the seam is worn away
  double pitch = 4;       ///< mm
  double hole = 0.8;      ///< mm across
  double rim = 0;         ///< how much lighter the raised ring around a hole is, share
  double allowance = 10;  ///< mm from the edge
};

/// A fold of the cover that light alone shows: bright on the side towards the lamp, dark on the other.
struct Crease {
  Polyline line;
  double width = 2;    ///< mm, from the middle to where the shading is strongest
  double depth = 0.1;  ///< share of the light, at the strongest
};

/// Thin things: chalk, threads. Colours by StrokeField::Stroke::tag into `colours`.
struct Chalk {
  std::vector<StrokeField::Stroke> strokes{};
  std::vector<Colour> colours{};
  float strength = 0.85F;  ///< share of the cloth covered in the middle of a stroke
  float broken = 0;  ///< 0: an even film with some grain; over 0, up to 1: chalk that catches on the cloth, with gaps
};

struct Threads {
  std::vector<StrokeField::Stroke> strokes{};
  std::vector<Colour> colours{};
  double height = 0;  ///< z
};

struct Panel {
  std::string name;
  std::optional<int> tag;
  double thickness = 1.2;
  bool symmetric = false;
  Material material;
  Colour core{0.55F, 0.52F, 0.45F};  ///< of the cut side wall
  Rigid2 table_from_panel;           ///< where it lies; the panel frame's y is the design's axis

  Polyline design_outline;  ///< panel frame, as designed, without wear and notches, counter-clockwise
  Polyline outline;         ///< upper face, counter-clockwise; V and U notches cut, slits and fraying left out
  Polyline outline_without_notches;
  std::vector<Polyline> holes;  ///< cut-outs
  Polyline corners;
  std::optional<std::array<Vec2, 2>> axis;
  std::vector<Mark> marks;
  std::vector<NeedleRow> needle_rows;
  std::vector<Polyline> awl_holes;  ///< their borders; cut through, but no cut-outs
  std::vector<Crease> creases;

  Polyline seen_outline;  ///< what is rendered: outline with slits and with the jitter of a frayed edge
  Chalk chalk;
  std::vector<Threads> threads;  ///< fraying and loose threads
};

enum class ToolKind { steel_rule, chalk_stick, scissors, thread_coil };

struct Tool {
  ToolKind kind = ToolKind::steel_rule;
  Vec2 at = Vec2::Zero();
  double theta = 0;
  std::uint32_t seed = 1;
};

/// One soft lamp and the room's light; together 1 at the table's origin.
struct Light {
  double azimuth = 2.2;          ///< rad from x, where the lamp stands
  double elevation = 0.9;        ///< rad above the table
  double direct_share = 0.55;    ///< of the lamp; the rest comes evenly from above
  double half_size = 0.12;       ///< rad, half the angle under which the lamp is seen: the softness of shadows
  Vec2 gradient = Vec2::Zero();  ///< change of the lamp's light over the table, per metre
  Colour tint{1, 1, 1};
};

/// The edge of a large shadow across the scene (a window frame, a person).
struct ShadowAcross {
  Vec2 point = Vec2::Zero(), dark_side{1, 0};  ///< a point of the edge, unit vector into the shadow
  double depth = 0.5;                          ///< share of the lamp's light taken away
  double softness = 4;                         ///< mm over which it falls
};

/// What lens and sensor do after the light. All noise is off by default.
struct Sensor {
  double blur_px = 0.6;     ///< Gaussian sigma
  double vignetting = 0.0;  ///< share of light lost in the corner
  double shot_noise = 0.0;  ///< variance per unit of light (1 = white)
  double read_noise = 0.0;  ///< sigma, in units of white
  double sharpening = 0.0;  ///< unsharp mask amount, on coded values, sigma 1.2 px
  double exposure = 1.0;
  int jpeg_quality = 93;
};

struct Scene {
  std::string name = "scene";  ///< file name without its ending
  std::uint64_t seed = 1;      ///< of noise and surfaces
  std::string phone = "P1";    ///< EXIF model; make is "Example"
  double focal_35mm = 26;      ///< nominal, rounded when written
  Camera camera;
  Sensor sensor;
  Light light;
  std::optional<ShadowAcross> shadow_across;
  bool thing_shadows = true;  ///< contact and cast shadows of panels and tools
  Table table;
  PrintScale print_scale;
  std::vector<SheetOnTable> sheets;
  std::vector<TagOnTable> tags;
  std::vector<Panel> panels;
  std::vector<Tool> tools;
};

/// Paper of a sheet, A4 portrait.
inline constexpr double paper_width = 210, paper_height = 297;
inline constexpr double sheet_plane_z = 0.1;  ///< mm, printed face of sheets and tags above the table: office paper

/// Corners of a rectangle of paper or card lying on the table, counter-clockwise.
Polyline rectangle_on_table(const Vec2& at, double theta, double width, double height);

}  // namespace chalkfold::demo
