// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "calib/lens.h"
#include "demo/base/material.h"
#include "demo/base/stroke_field.h"
#include "pipeline/geometry/polygon.h"

namespace chalkfold::demo {

/// A photograph to be rendered, and the truth about it, in one struct. All places are in the table frame: mm, x right,
/// y away from the viewer, z up, z = 0 on the table and the sheets' printed face.

struct Camera {
  /// sensor frame (as stored), with this photo's focal change and centre shift already in it
  calib::Lens lens;
  /// EXIF: 1 stored upright, 3 upside down, 6 turn 90 deg clockwise to see it upright, 8 anticlockwise
  int orientation = 1;
  /// of the upright picture
  calib::Pose pose;
};

/// The lens as it describes the upright picture.
calib::Lens upright_lens(const Camera& camera);

struct SheetOnTable {
  /// 1..20
  int number = 1;
  /// board centre
  Vec2 at = Vec2::Zero();
  /// rad, counter-clockwise from the page's x
  double theta = 0;
};

struct TagOnTable {
  /// 1..99
  int number = 1;
  Vec2 at = Vec2::Zero();
  double theta = 0;
};

/// True size over nominal size of everything printed in one run, across (x) and along (y) the page.
struct PrintScale {
  double x = 1, y = 1;
};

struct Mark {
  /// match, centre, grain, underside, text, notch, hole, ring
  std::string kind;
  /// What the truth file says: edge then inner end; tail then head; lower left and upper right of the box; a hole's
  /// centre; the middle of a ring's stroke from its beginning to its end.
  Polyline points;
  /// match marks drawn together share a number; a text that belongs to them has it too
  std::optional<int> group{};
  /// of a grain arrow's head: open, filled; of a notch: vee, round, slit
  std::string style{};
  /// grain: false with a head at both ends
  std::optional<bool> directed{};
  /// mm, of the stroke; of a notch's mouth
  double width = 0;
  /// mm, notch
  double depth = 0;
  /// mm, hole
  double diameter = 0;
  /// mm, of letters
  double height = 0;
  /// rad, direction in which letters stand
  std::optional<double> up{};
};

/// A narrow opening cut into a panel from its edge; part of the outline.
struct SlotInPanel {
  /// middle of the mouth, and of the inner end
  Vec2 mouth = Vec2::Zero(), end = Vec2::Zero();
  /// unit, at the mouth, into the panel
  Vec2 direction{1, 0};
  /// mm; the depth along the slot's middle line
  double width = 0, depth = 0;
};

/// A corner of an outline at which the table reaches into the panel.
struct InnerCorner {
  Vec2 at = Vec2::Zero();
  /// rad, of the table that lies in it
  double angle = 0;
};

/// The old seam's needle holes.
struct SewnRow {
  /// centres, in order; none where the seam is worn away
  Polyline holes;
  /// mm
  double pitch = 4;
  /// mm across
  double hole = 0.8;
  /// how much lighter the raised ring around a hole is, share
  double rim = 0;
  /// mm from the edge
  double allowance = 10;
};

/// A fold of the cover that light alone shows: bright on the side towards the lamp, dark on the other.
struct Crease {
  Polyline line;
  /// mm, from the middle to where the shading is strongest
  double width = 2;
  /// share of the light, at the strongest
  double depth = 0.1;
};

/// Thin things: chalk, threads. Colours by StrokeField::Stroke::tag into `colours`.
struct Chalk {
  std::vector<StrokeField::Stroke> strokes{};
  std::vector<Colour> colours{};
  /// share of the cloth covered in the middle of a stroke
  float strength = 0.85F;
  /// 0: an even film with some grain; over 0, up to 1: chalk that catches on the cloth, with gaps
  float broken = 0;
};

struct Threads {
  std::vector<StrokeField::Stroke> strokes{};
  std::vector<Colour> colours{};
  /// z
  double height = 0;
};

struct LaidPanel {
  std::string name;
  std::optional<int> tag;
  double thickness = 1.2;
  bool symmetric = false;
  Material material;
  /// of the cut side wall
  Colour core{0.55F, 0.52F, 0.45F};
  /// where it lies; the panel frame's y is the design's axis
  geometry::Rigid2 table_from_panel;

  /// panel frame, as designed, without wear and notches, counter-clockwise
  Polyline design_outline;
  /// upper face, counter-clockwise; V and U notches cut, slits and fraying left out
  Polyline outline;
  Polyline outline_without_notches;
  /// cut-outs
  std::vector<Polyline> holes;
  std::vector<SlotInPanel> slots;
  std::vector<InnerCorner> inner_corners;
  Polyline corners;
  std::optional<std::array<Vec2, 2>> axis;
  std::vector<Mark> marks;
  std::vector<SewnRow> needle_rows;
  /// their borders; cut through, but no cut-outs
  std::vector<Polyline> awl_holes;
  std::vector<Crease> creases;

  /// what is rendered: outline with slits and with the jitter of a frayed edge
  Polyline seen_outline;
  Chalk chalk;
  /// fraying and loose threads
  std::vector<Threads> threads;
};

enum class ToolKind { steel_rule, chalk_stick, scissors, thread_coil };

struct Tool {
  ToolKind kind = ToolKind::steel_rule;
  Vec2 at = Vec2::Zero();
  double theta = 0;
  std::uint32_t seed = 1;
};

/// A blank sheet of white paper.
struct PaperOnTable {
  /// centre
  Vec2 at = Vec2::Zero();
  double theta = 0;
  /// mm
  Vec2 size{210, 297};
};

/// One soft lamp and the room's light; together 1 at the table's origin.
struct Light {
  /// rad from x, where the lamp stands
  double azimuth = 2.2;
  /// rad above the table
  double elevation = 0.9;
  /// of the lamp; the rest comes evenly from above
  double direct_share = 0.55;
  /// rad, half the angle under which the lamp is seen: the softness of shadows
  double half_size = 0.12;
  /// change of the lamp's light over the table, per metre
  Vec2 gradient = Vec2::Zero();
  Colour tint{1, 1, 1};
};

/// A shadow across the scene: the edge of a large one (a window frame, a person), or a narrow one's both sides.
struct ShadowAcross {
  /// a point of the edge, unit vector into the shadow
  Vec2 point = Vec2::Zero(), dark_side{1, 0};
  /// share of the lamp's light taken away
  double depth = 0.5;
  /// mm over which it falls
  double softness = 4;
  /// when there are any, the shadow lies under these alone (a rod; a head with its shoulders), table mm
  std::vector<StrokeField::Stroke> bodies{};
};

/// What lens and sensor do after the light. All noise is off by default.
struct Sensor {
  /// Gaussian sigma
  double blur_px = 0.6;
  /// share of light lost in the corner
  double vignetting = 0.0;
  /// variance per unit of light (1 = white)
  double shot_noise = 0.0;
  /// sigma, in units of white
  double read_noise = 0.0;
  /// unsharp mask amount, on coded values, sigma 1.2 px
  double sharpening = 0.0;
  double exposure = 1.0;
  int jpeg_quality = 93;
};

struct Scene {
  /// file name without its ending
  std::string name = "scene";
  /// of those of its set, when the set has kinds
  std::string kind{};
  /// of noise and surfaces
  std::uint64_t seed = 1;
  /// EXIF model; make is "Example"
  std::string phone = "P1";
  /// nominal, rounded when written
  double focal_35mm = 26;
  Camera camera;
  Sensor sensor;
  Light light;
  std::optional<ShadowAcross> shadow_across;
  /// contact and cast shadows of panels and tools
  bool thing_shadows = true;
  Table table;
  PrintScale print_scale;
  std::vector<SheetOnTable> sheets;
  std::vector<TagOnTable> tags;
  std::vector<PaperOnTable> papers;
  std::vector<LaidPanel> panels;
  std::vector<Tool> tools;
};

/// Paper of a sheet, A4 portrait.
inline constexpr double paper_width = 210, paper_height = 297;
/// mm, printed face of sheets and tags above the table: office paper
inline constexpr double sheet_plane_z = 0.1;

/// Corners of a rectangle of paper or card lying on the table, counter-clockwise.
Polyline rectangle_on_table(const Vec2& at, double theta, double width, double height);

}  // namespace chalkfold::demo
