// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/piece/labels.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

#include "pipeline/draft/piece/lettering.h"
#include "pipeline/draft/piece/side_label.h"
#include "pipeline/geometry/line_fit.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::draft {
namespace {

constexpr double clearance = 2.5;   // mm, between lettering and any line
constexpr double line_pitch = 1.6;  // baseline to baseline, of the capitals' height
constexpr double square_side = 50;  // mm

/// A turned rectangle.
struct Frame {
  Vec2 centre = Vec2::Zero(), half = Vec2::Zero();
  double angle = 0;
  Vec2 inside(const Vec2& p) const {
    return {geometry::unit(angle).dot(p - centre), geometry::left_of(geometry::unit(angle)).dot(p - centre)};
  }
  Vec2 outside(const Vec2& p) const {
    return centre + p.x() * geometry::unit(angle) + p.y() * geometry::left_of(geometry::unit(angle));
  }
};

/// Whether a segment touches the upright box -half..half (slabs: T. L. Kay and J. T. Kajiya, "Ray tracing complex scenes", 1986).
bool touches(const Vec2& half, const Vec2& a, const Vec2& b) {
  double enter = 0, leave = 1;
  for (int k = 0; k < 2; ++k) {
    const double d = b[k] - a[k];
    if (std::abs(d) < 1e-12) {
      if (std::abs(a[k]) > half[k]) return false;
      continue;
    }
    const double t0 = (-half[k] - a[k]) / d, t1 = (half[k] - a[k]) / d;
    enter = std::max(enter, std::min(t0, t1));
    leave = std::min(leave, std::max(t0, t1));
  }
  return enter <= leave;
}

bool holds(const Frame& frame, const Vec2& p) {
  const Vec2 d = frame.inside(p);
  return std::abs(d.x()) <= frame.half.x() && std::abs(d.y()) <= frame.half.y();
}

/// Where lettering may stand.
class Room {
 public:
  explicit Room(const Piece& piece) : sew_(piece.sew_line) {
    add(piece.sew_line, true);
    for (const Polyline& cutout : piece.cutouts) add(cutout, true);
    if (piece.axis) add({(*piece.axis)[0], (*piece.axis)[1]}, false);
    if (piece.grain) add({(*piece.grain)[0], (*piece.grain)[1]}, false);
    for (const auto& [centre, diameter] : piece.holes) {
      const double r = 0.5 * diameter;
      add({centre + Vec2(-r, -r), centre + Vec2(r, -r), centre + Vec2(r, r), centre + Vec2(-r, r)}, true);
    }
    for (const PieceMark& mark : piece.marks) add({mark.on_cut, mark.on_sew}, false);
    spots();
  }

  bool fits(const Frame& frame) const {
    const Vec2 half = frame.half + Vec2::Constant(clearance);
    for (const Vec2& corner : {Vec2(-half), Vec2(half), Vec2(half.x(), -half.y()), Vec2(-half.x(), half.y())})
      if (!geometry::contains(sew_, frame.outside(corner))) return false;
    if (std::any_of(taken_.begin(), taken_.end(),
                    [&](const Frame& t) { return holds(t, frame.centre) || holds(frame, t.centre); }))
      return false;
    return std::none_of(lines_.begin(), lines_.end(),
                        [&](const auto& line) { return touches(half, frame.inside(line[0]), frame.inside(line[1])); });
  }

  /// The fitting place nearest the middle.
  std::optional<Frame> find(const Vec2& half, const std::vector<double>& angles) const {
    for (const double angle : angles)
      for (const Vec2& spot : spots_) {
        const Frame frame{spot, half, angle};
        if (fits(frame)) return frame;
      }
    return std::nullopt;
  }

  void take(const Frame& frame) {
    taken_.push_back(frame);
    add({frame.outside(-frame.half), frame.outside({frame.half.x(), -frame.half.y()}), frame.outside(frame.half),
         frame.outside({-frame.half.x(), frame.half.y()})},
        true);
  }

  Vec2 extent() const { return extent_; }

 private:
  void add(const Polyline& points, bool closed) {
    for (std::size_t i = 0; i + (closed ? 0 : 1) < points.size(); ++i)
      lines_.push_back({points[i], points[(i + 1) % points.size()]});
  }

  void spots() {
    const geometry::Box box = geometry::bounding_box(sew_);
    extent_ = box.size();
    constexpr int count = 24;
    for (int i = 1; i < count; ++i)
      for (int k = 1; k < count; ++k) {
        const Vec2 p = box.min + Vec2(extent_.x() * i / count, extent_.y() * k / count);
        if (geometry::contains(sew_, p)) spots_.push_back(p);
      }
    const Vec2 middle = geometry::centroid(sew_);
    std::stable_sort(spots_.begin(), spots_.end(), [&](const Vec2& a, const Vec2& b) {
      return (a - middle).squaredNorm() < (b - middle).squaredNorm();
    });
  }

  Polyline sew_;
  std::vector<std::array<Vec2, 2>> lines_;
  std::vector<Frame> taken_;
  std::vector<Vec2> spots_;
  Vec2 extent_ = Vec2::Zero();
};

/// Level, upright, and along the piece.
std::vector<double> angles_for(const Piece& piece) {
  const Vec2 middle = geometry::centroid(piece.sew_line);
  double xx = 0, xy = 0, yy = 0;
  for (const Vec2& p : geometry::resample_closed(piece.sew_line, 200)) {
    const Vec2 d = p - middle;
    xx += d.x() * d.x();
    xy += d.x() * d.y();
    yy += d.y() * d.y();
  }
  return {0, std::numbers::pi / 2, geometry::principal_angle(xx, xy, yy)};
}

PieceLabel label(const std::string& words, const Vec2& start, double height, double angle) {
  return {words, start, height, angle, text_length(words, height)};
}

Frame frame_of_one(const std::string& words, const Vec2& centre, double height, double angle) {
  return {centre, 0.5 * Vec2(text_length(words, height), height), angle};
}

void put_one(Piece& piece, Room& room, const std::string& words, const Frame& frame) {
  piece.labels.push_back(label(words, frame.outside(-frame.half), 2 * frame.half.y(), frame.angle));
  room.take(frame);
}

Vec2 half_of_block(const std::vector<std::string>& lines, double height) {
  double wide = 0;
  for (const std::string& line : lines) wide = std::max(wide, text_length(line, height));
  return 0.5 * Vec2(wide, height * (1 + letter_descent + line_pitch * (static_cast<double>(lines.size()) - 1)));
}

void put_block(Piece& piece, Room& room, const std::vector<std::string>& lines, const Frame& frame, double height) {
  double y = frame.half.y() - height;
  for (const std::string& line : lines) {
    piece.labels.push_back(label(line, frame.outside({-frame.half.x(), y}), height, frame.angle));
    y -= line_pitch * height;
  }
  room.take(frame);
}

/// All lines in large lettering, or fewer of them, or smaller; the names of those that were dropped.
std::vector<std::string> place_block(Piece& piece, Room& room) {
  std::vector<std::string> all = label_lines(piece);
  const std::vector<double> angles = angles_for(piece);
  const double largest = std::clamp(0.035 * std::min(room.extent().x(), room.extent().y()), 3.0, 10.0);
  const auto attempt = [&](std::size_t keep, double height) {
    const std::vector<std::string> lines(all.begin(), all.begin() + static_cast<std::ptrdiff_t>(keep));
    const auto frame = room.find(half_of_block(lines, height), angles);
    if (frame) put_block(piece, room, lines, *frame, height);
    return frame.has_value();
  };
  const std::size_t least = std::min<std::size_t>(3, all.size());
  for (const double floor : {4.0, 3.0})
    for (std::size_t keep = all.size(); keep >= least; --keep)
      for (const double height : {10.0, 8.0, 6.0, 5.0, 4.0, 3.0})
        if (height <= largest + 0.5 && height >= floor && attempt(keep, height))
          return {all.begin() + static_cast<std::ptrdiff_t>(keep), all.end()};
  for (std::size_t keep = least; keep >= 1; --keep)
    if (attempt(keep, 3)) return {all.begin() + static_cast<std::ptrdiff_t>(keep), all.end()};
  return all;
}

void place_edge_numbers(Piece& piece, Room& room, std::vector<std::string>& dropped) {
  if (piece.edges.size() < 2) return;
  for (const PieceEdge& edge : piece.edges) {
    const std::string words = std::to_string(edge.number);
    const double whole = geometry::length(edge.sew);
    bool placed = false;
    for (const double height : {6.0, 4.0, 3.0})
      for (const double share : {0.5, 0.42, 0.58, 0.34, 0.66}) {
        if (placed) break;
        const geometry::CurvePlace at = geometry::place_along(edge.sew, share * whole);
        const Frame frame =
            frame_of_one(words, at.point + (clearance + 1 + 0.8 * height) * geometry::left_of(at.direction), height, 0);
        if (!room.fits(frame)) continue;
        put_one(piece, room, words, frame);
        placed = true;
      }
    if (!placed) dropped.push_back(fmt::format("number of edge {}", words));
  }
}

void place_fold(Piece& piece, Room& room) {
  if (!piece.axis) return;
  const Vec2 low = (*piece.axis)[0], high = (*piece.axis)[1], along = (high - low).normalized();
  for (const double share : {0.2, 0.8, 0.3, 0.7, 0.1, 0.9, 0.5}) {
    const Frame frame = frame_of_one("fold", low + share * (high - low) + (clearance + 3.5) * geometry::left_of(along),
                                     5, std::atan2(along.y(), along.x()));
    if (!room.fits(frame)) continue;
    put_one(piece, room, "fold", frame);
    return;
  }
}

void place_underside(Piece& piece, Room& room) {
  if (!piece.underside || piece.side != Side::inside) return;
  for (const double height : {15.0, 10.0, 6.0}) {
    const Frame frame = frame_of_one("U", *piece.underside, height, 0);
    if (!room.fits(frame)) continue;
    put_one(piece, room, "U", frame);
    return;
  }
}

void place_square(Piece& piece, Room& room, std::vector<std::string>& dropped) {
  const auto frame = room.find(Vec2::Constant(0.5 * square_side), {0.0});
  if (!frame) {
    dropped.emplace_back("check square of 50 mm");
    return;
  }
  const double r = 0.5 * square_side;
  Polyline square;
  for (const Vec2& corner : {Vec2(-r, -r), Vec2(r, -r), Vec2(r, r), Vec2(-r, r), Vec2(-r, -r)})
    square.push_back(frame->outside(corner));
  piece.internal.push_back(square);
  const std::string words = "50 mm";
  const double height = 5;
  piece.labels.push_back(label(words, frame->centre - 0.5 * Vec2(text_length(words, height), height), height, 0));
  room.take(*frame);
}

std::string allowances_of(const Piece& piece) {
  double least = std::numeric_limits<double>::max(), most = 0;
  for (const PieceEdge& edge : piece.edges) {
    least = std::min(least, edge.allowance);
    most = std::max(most, edge.allowance);
  }
  return least == most ? fmt::format("allowance {:g} mm", most) : fmt::format("allowance {:g} to {:g} mm", least, most);
}

}  // namespace

std::vector<std::string> label_lines(const Piece& piece) {
  std::vector<std::string> lines;
  lines.push_back(piece.name);
  lines.push_back(fmt::format("cut {}{}{}", piece.quantity, piece.one_mirrored ? ", one mirrored" : "",
                              piece.adjusted ? ", adjusted to its seams" : ""));
  lines.emplace_back(side_label(piece.side));
  lines.push_back(fmt::format("piece {}", piece.number));
  if (!piece.edges.empty()) lines.push_back(allowances_of(piece));
  if (!piece.part.empty()) lines.push_back(piece.part);
  if (!piece.material.empty()) lines.push_back(piece.material);
  if (!piece.job.empty()) lines.push_back(piece.job);
  if (!piece.measured_on.empty()) lines.push_back(fmt::format("measured on {}", piece.measured_on));
  return lines;
}

void place_labels(Piece& piece) {
  piece.labels.clear();
  piece.internal.clear();
  if (piece.sew_line.size() < 3 || geometry::signed_area(piece.sew_line) <= 0) return;
  Room room(piece);
  std::vector<std::string> dropped;
  place_underside(piece, room);
  place_edge_numbers(piece, room, dropped);
  place_fold(piece, room);
  const std::vector<std::string> lines = place_block(piece, room);
  dropped.insert(dropped.end(), lines.begin(), lines.end());
  place_square(piece, room, dropped);
  if (dropped.empty()) return;
  std::string names;
  for (const std::string& d : dropped) names += (names.empty() ? "" : "; ") + d;
  piece.faults.push_back({"labels-dropped", Severity::note, fmt::format("No room inside the piece for: {}.", names),
                          "Write it on the piece by hand.", piece.measured_on, piece.name});
}

}  // namespace chalkfold::draft
