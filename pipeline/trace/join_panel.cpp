// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/join_panel.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "pipeline/common/require.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/survey/joint_shape.h"
#include "pipeline/trace/chalk/chalk_lines.h"
#include "pipeline/trace/edge/boundary_path.h"
#include "pipeline/trace/edge/uncertainty.h"
#include "pipeline/trace/find_marks.h"
#include "pipeline/trace/join_marks.h"

namespace chalkfold::trace {
namespace {

OutlineView outline_view(const PanelSight& sight) {
  const geometry::Rigid2 joined_from_table = sight.table_from_joined.inverse();
  const panel::Contour across = panel::outline_across_notches(*sight.panel);
  return {geometry::moved(joined_from_table, across.points), across.sigma, across.U,
          geometry::moved(joined_from_table, sight.seen)};
}

/// Where along a contour the survey's part is computed; it changes slowly.
struct Places {
  std::vector<std::size_t> at;
  Polyline points, normals;
};

Places places_on(const Polyline& contour) {
  const std::size_t stride = std::max<std::size_t>(1, contour.size() / survey_places);
  const Polyline normals = right_normals(contour, 2);
  Places places;
  for (std::size_t i = 0; i < contour.size(); i += stride) {
    places.at.push_back(i);
    places.points.push_back(contour[i]);
    places.normals.push_back(normals[i]);
  }
  return places;
}

/// A value computed at places, at every point between them, round the contour.
std::vector<double> at_every_point(const Places& places, const std::vector<double>& values, std::size_t count) {
  std::vector<double> out(count);
  for (std::size_t k = 0; k < places.at.size(); ++k) {
    const std::size_t a = places.at[k], b = k + 1 < places.at.size() ? places.at[k + 1] : count;
    const double next = values[(k + 1) % values.size()];
    for (std::size_t i = a; i < b; ++i) {
      const double t = static_cast<double>(i - a) / static_cast<double>(b - a);
      out[i] = (1 - t) * values[k] + t * next;
    }
  }
  return out;
}

/// What several photos make of one contour.
struct JoinedContour {
  panel::Contour contour;
  JoinedOutline outline;
  /// mm, k = 2, one row a sight: by how much its line may lie off the joined one
  std::vector<std::vector<double>> off_U;
};

JoinedContour with_uncertainty(JoinedOutline outline, const std::vector<PanelSight>& sights,
                               const Eigen::MatrixXd& joint, const TraceOptions& options) {
  const std::size_t n = outline.points.size();
  const Places places = places_on(outline.points);
  std::vector<survey::SharedView> shared;
  for (std::size_t v = 0; v < sights.size(); ++v) {
    survey::SharedView s{sights[v].view, sights[v].table_from_joined, sights[v].frame, {}};
    for (const std::size_t i : places.at) s.weights.push_back(outline.weights[v][i]);
    shared.push_back(std::move(s));
  }
  const survey::JointShape shape =
      survey::joint_shape(shared, joint, places.points, places.normals, options.face_height(), options.thickness_sigma);
  JoinedContour joined;
  const std::vector<double> survey = at_every_point(places, shape.sigma, n);
  joined.contour.points = outline.points;
  joined.contour.sigma = outline.sigma;
  joined.contour.U.resize(n);
  for (const std::vector<double>& apart : shape.apart) joined.off_U.push_back(at_every_point(places, apart, n));
  for (std::size_t i = 0; i < n; ++i) {
    double model = 0;  // an edge misleads every photo of it alike
    for (std::size_t v = 0; v < sights.size(); ++v) {
      if (outline.weights[v][i] <= 0) continue;
      const double own = model_sigma(*sights[v].view, sights[v].table_from_joined * outline.points[i], options);
      model += outline.weights[v][i] * own;
      joined.off_U[v][i] =
          coverage * std::hypot(joined.off_U[v][i], own, outline.sigma[i] / std::sqrt(outline.weights[v][i]));
    }
    joined.contour.U[i] =
        coverage * std::sqrt(survey[i] * survey[i] + outline.sigma[i] * outline.sigma[i] + model * model);
  }
  joined.outline = std::move(outline);
  return joined;
}

struct Stretch {
  /// mm
  double length = 0, worst = 0;
  /// where it is worst, and the sight
  std::size_t at = 0, by = 0;
};

/// The longest stretch over which one sight's line is off, by `off` mm at a point; 0: it agrees there.
template <class Off>
Stretch longest_stretch(const Polyline& points, std::size_t sights, double perimeter, Off&& off_of) {
  Stretch best;
  for (std::size_t v = 0; v < sights; ++v) {
    Stretch run{0, 0, 0, v};
    for (std::size_t k = 0; k < 2 * points.size(); ++k) {  // twice round: a stretch may pass the start
      const std::size_t i = k % points.size();
      const double off = off_of(v, i);
      if (off <= 0) {
        run = {0, 0, 0, v};
        continue;
      }
      run.length = std::min(run.length + (points[(i + 1) % points.size()] - points[i]).norm(), perimeter);
      if (off > run.worst) {
        run.worst = off;
        run.at = i;
      }
      if (run.length > best.length) best = run;
    }
  }
  return best;
}

std::string place_of(const Polyline& points, std::size_t at) {
  const Vec2 place = points[at] - geometry::bounding_box(points).min;
  return fmt::format("({:.0f}, {:.0f}) mm from the panel's lower left", place.x(), place.y());
}

/// Over a longer stretch one sight's line lies off the joined one by more than U allows.
void add_disagreement(const JoinedContour& joined, const std::vector<PanelSight>& sights, panel::Panel& panel) {
  constexpr double least = 0.15;        // mm: less than that nobody cuts
  constexpr double least_share = 0.05;  // of a point: below, the sight hardly moves it
  const Polyline& points = joined.contour.points;
  const Stretch s = longest_stretch(points, sights.size(), panel.perimeter, [&](std::size_t v, std::size_t i) {
    const double off = std::abs(joined.outline.off[v][i]);
    return joined.outline.weights[v][i] < least_share || off < std::max(least, joined.off_U[v][i]) ? 0 : off;
  });
  if (s.length < long_stretch) return;
  const std::string& photo = sights[s.by].view->solution().photo;
  panel.faults.push_back(
      {"photos-disagree", Severity::warning,
       fmt::format("over {:.0f} mm of the outline, near {}, {} puts the edge {:.2f} mm from where the photos together "
                   "put it; {:.2f} mm would be within their uncertainty",
                   s.length, place_of(points, s.at), photo, s.worst, joined.off_U[s.by][s.at]),
       "Did the panel or a sheet move between the photos, or does the panel not lie flat there? Photograph it again if "
       "the seam there matters.",
       photo, ""});
}

/// Over a longer stretch one sight does not see the edge anywhere near the joined one. Of parts nothing else tells where the panel is: no outline then.
void add_contrary(const JoinedContour& joined, const std::vector<PanelSight>& sights, panel::Panel& panel) {
  const Polyline& points = joined.contour.points;
  const Stretch s = longest_stretch(points, sights.size(), panel.perimeter, [&](std::size_t v, std::size_t i) {
    return joined.outline.contrary[v][i] ? 1.0 : 0.0;
  });
  if (s.length < long_stretch) return;
  const bool parts = std::none_of(sights.begin(), sights.end(), [](const PanelSight& sight) { return sight.whole(); });
  const std::string& photo = sights[s.by].view->solution().photo;
  panel.faults.push_back(
      {"photos-disagree", parts ? Severity::refusal : Severity::warning,
       fmt::format("over {:.0f} mm of the outline, near {}, {} does not show the edge within {:.0f} mm of where the "
                   "other photos put it",
                   s.length, place_of(points, s.at), photo, same_edge_reach),
       "The panel or a sheet was moved between the photos: photograph the panel again without touching either.", photo,
       ""});
}

bool sees(const PanelSight& sight, const Vec2& at_in_joined) {
  return sight.whole() || geometry::contains(sight.seen, sight.table_from_joined * at_in_joined);
}

/// Cut-outs that a sight sees whole, joined with their like in the others.
void join_cutouts(const std::vector<PanelSight>& sights, const Eigen::MatrixXd& joint, const TraceOptions& options,
                  panel::Panel& panel) {
  constexpr double same = 8;  // mm between the middles: no two cut-outs lie so close, each is 7 mm wide at least
  struct Found {
    Vec2 middle = Vec2::Zero();
    std::vector<OutlineView> views;  // one a sight; empty where it does not see the cut-out
  };
  std::vector<Found> found;
  for (std::size_t v = 0; v < sights.size(); ++v) {
    const geometry::Rigid2 joined_from_table = sights[v].table_from_joined.inverse();
    for (const panel::Contour& c : sights[v].panel->cutouts) {
      Polyline points = geometry::moved(joined_from_table, c.points);
      if (!std::all_of(points.begin(), points.end(), [&](const Vec2& p) { return sees(sights[v], p); })) continue;
      OutlineView view{
          {points.rbegin(), points.rend()}, {c.sigma.rbegin(), c.sigma.rend()}, {c.U.rbegin(), c.U.rend()}, {}};
      const Vec2 middle = geometry::centroid(points);
      auto known =
          std::find_if(found.begin(), found.end(), [&](const Found& f) { return (f.middle - middle).norm() < same; });
      if (known == found.end()) known = found.insert(found.end(), {middle, std::vector<OutlineView>(sights.size())});
      known->views[v] = std::move(view);
    }
  }
  for (const Found& f : found) {
    std::vector<OutlineView> views;
    std::vector<PanelSight> own;
    std::vector<std::size_t> from;
    for (std::size_t v = 0; v < sights.size(); ++v) {
      if (f.views[v].points.empty()) continue;
      views.push_back(f.views[v]);
      own.push_back(sights[v]);
      from.push_back(v);
    }
    constexpr int size = survey::TableView::parameters;
    Eigen::MatrixXd own_joint(size * from.size(), size * from.size());
    for (std::size_t a = 0; a < from.size(); ++a)
      for (std::size_t b = 0; b < from.size(); ++b)
        own_joint.block<size, size>(static_cast<Eigen::Index>(size * a), static_cast<Eigen::Index>(size * b)) =
            joint.block<size, size>(static_cast<Eigen::Index>(size * from[a]),
                                    static_cast<Eigen::Index>(size * from[b]));
    auto outline = join_outlines(views);
    if (!outline) continue;
    panel::Contour c = with_uncertainty(std::move(*outline), own, own_joint, options).contour;
    std::reverse(c.points.begin(), c.points.end());
    std::reverse(c.sigma.begin(), c.sigma.end());
    std::reverse(c.U.begin(), c.U.end());
    panel.cutouts.push_back(std::move(c));
  }
}

}  // namespace

std::optional<panel::Panel> join_panel(const std::vector<PanelSight>& sights, const Eigen::MatrixXd& joint,
                                       const TraceOptions& options, OutlineGap* gap) {
  check(options);
  require_at_least("sights of the panel", sights.size(), 2);
  for (const PanelSight& sight : sights) require(sight.panel && sight.view, "a sight has no panel or no view");
  std::vector<OutlineView> views;
  views.reserve(sights.size());
  for (const PanelSight& sight : sights) views.push_back(outline_view(sight));
  auto outline = join_outlines(views, gap);
  if (!outline) return std::nullopt;
  const JoinedContour joined = with_uncertainty(std::move(*outline), sights, joint, options);
  panel::Panel out;
  out.outline = joined.contour;
  out.thickness = options.thickness;
  join_cutouts(sights, joint, options, out);
  fill_numbers(out);
  const Vec2 middle = geometry::centroid(out.outline.points);
  for (const PanelSight& sight : sights)
    if (sees(sight, middle))
      out.px_per_mm =
          std::max(out.px_per_mm, px_per_mm_at(*sight.view, sight.table_from_joined * middle, options.face_height()));
  for (const PanelSight& sight : sights)
    for (const Fault& fault : sight.panel->faults) {
      // The doubtful stretch is looked for again in what the photos make of it together.
      const bool again =
          fault.code == "outline-doubtful" || fault.code == "centre-line-off" || fault.code == "ring-open";
      if (!again) out.faults.push_back(fault);
    }
  add_doubtful_stretch(out, sights.front().view->solution().photo);
  add_disagreement(joined, sights, out);
  add_contrary(joined, sights, out);
  return out;
}

void add_marks_of(panel::Panel& joined, const PanelSight& sight, const capture::Photo& photo,
                  const TraceOptions& options) {
  panel::Panel own;
  own.outline = panel::outline_across_notches(joined);
  own.cutouts = joined.cutouts;
  own = moved(sight.table_from_joined, std::move(own));
  find_marks(own, photo, *sight.view, options, {});
  // Where the photo says nothing of a whole panel's centre, its disagreement is not one.
  if (sight.whole())
    for (const Fault& fault : own.faults) {
      const bool told =
          std::any_of(joined.faults.begin(), joined.faults.end(), [&](const Fault& f) { return f.code == fault.code; });
      if (!told) joined.faults.push_back(fault);
    }
  add_marks(joined, moved(sight.table_from_joined.inverse(), std::move(own)),
            [&](const Vec2& p) { return sees(sight, p); });
  fill_numbers(joined);
}

void add_chalk_lines_of(std::vector<ChalkLine>& lines, const panel::Panel& joined, const PanelSight& sight,
                        const capture::Photo& photo, const TraceOptions& options) {
  const panel::Panel own = moved(sight.table_from_joined, joined);
  const geometry::Rigid2 joined_from_table = sight.table_from_joined.inverse();
  std::vector<ChalkLine> seen;
  for (const ChalkLine& line : find_chalk_lines(own, photo, *sight.view, options)) {
    ChalkLine part = line;
    part.points.clear();
    for (const Vec2& p : geometry::moved(joined_from_table, line.points)) {
      if (sees(sight, p)) {
        part.points.push_back(p);
        continue;
      }
      if (part.points.size() >= 2) seen.push_back(part);
      part.points.clear();
    }
    if (part.points.size() >= 2) seen.push_back(part);
  }
  add_lines(lines, seen);
}

}  // namespace chalkfold::trace
