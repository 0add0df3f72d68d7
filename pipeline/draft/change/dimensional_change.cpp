// SPDX-License-Identifier: Apache-2.0
#include "pipeline/draft/change/dimensional_change.h"

#include <fmt/format.h>

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/draft/change/change_steps.h"
#include "pipeline/geometry/smallest_rectangle.h"
#include "pipeline/geometry/vectors.h"

namespace chalkfold::draft {

namespace {
constexpr double degree = std::numbers::pi / 180;
constexpr double snap_deg = 5;             // between grain and a side of the smallest rectangle: the side is taken
constexpr double grain_disagrees_deg = 8;  // beyond what two arrows drawn by hand differ by
constexpr double good = 0.2;               // mm, of a score: below it two ways of laying the reference are alike
constexpr double nearly_as_good = 1.3;  // a second way of laying the reference leaves no more than this times the first

void add_fault(DimensionalChange& change, const char* code, Severity severity, const std::string& seen,
               const std::string& remedy) {
  change.faults.push_back({code, severity, seen, remedy, {}, change.measured});
}

/// Extent along a unit vector.
double extent(const Polyline& points, const Vec2& along) {
  double low = 1e300, high = -1e300;
  for (const Vec2& p : points) {
    low = std::min(low, along.dot(p));
    high = std::max(high, along.dot(p));
  }
  return high - low;
}

Vec2 grain_of(const ComparedShape& shape) { return ((*shape.grain)[1] - (*shape.grain)[0]).normalized(); }

/// Sets the direction on the measured panel; the reference's own grain where that alone is known.
Vec2 take_direction(DimensionalChange& change, const ComparedShape* reference, const ComparedShape& measured,
                    const ChangeOptions& options) {
  const Mat2 reference_from_measured = change.affine.linear.inverse();
  if (options.grain_deg) {
    change.direction_from = DirectionFrom::given;
    change.direction = geometry::unit(*options.grain_deg * degree);
  } else if (measured.grain) {
    change.direction_from = DirectionFrom::measured_grain;
    change.direction = grain_of(measured);
  } else if (reference && reference->grain) {
    change.direction_from = DirectionFrom::reference_grain;
    change.direction = (change.affine.linear * grain_of(*reference)).normalized();
  } else {
    change.direction_from = DirectionFrom::longer_side;
    change.direction = geometry::smallest_rectangle(measured.outline.points).along;
    add_fault(
        change, "direction-assumed", Severity::note,
        "no grain is known; along is the longer side of the smallest rectangle around the measured panel",
        "Chalk a grain arrow on the panel, or give the direction: grain_deg in the job, --grain-deg for two files.");
  }
  return (reference_from_measured * change.direction).normalized();
}

bool both_directed(const ComparedShape& reference, const ComparedShape& measured) {
  return reference.grain && measured.grain && reference.grain_directed && measured.grain_directed;
}

/// rad 0..pi between the two arrows when the reference is laid so.
double arrows_apart(const geometry::OutlineRegistration& fit, const ComparedShape& reference,
                    const ComparedShape& measured) {
  const Vec2 laid = fit.affine.linear * grain_of(reference), own = grain_of(measured);
  return std::abs(std::atan2(geometry::cross(laid, own), laid.dot(own)));
}

/// Which of the ways of laying the reference is meant: the best, or among equals the one that brings the grain arrows together.
const geometry::OutlineRegistration& chosen(const std::vector<geometry::OutlineRegistration>& fits,
                                            const ComparedShape& reference, const ComparedShape& measured) {
  if (!both_directed(reference, measured)) return fits.front();
  const geometry::OutlineRegistration* best = &fits.front();
  const double least = fits.front().score();
  double apart = 10;
  for (const geometry::OutlineRegistration& fit : fits) {
    if (fit.score() > nearly_as_good * std::max(least, good)) continue;
    const double own = arrows_apart(fit, reference, measured);
    if (own >= apart - 1e-6) continue;
    apart = own;
    best = &fit;
  }
  return *best;
}

void tell_ambiguity(DimensionalChange& change, const std::vector<geometry::OutlineRegistration>& fits,
                    const geometry::OutlineRegistration& taken, const ComparedShape& reference,
                    const ComparedShape& measured) {
  const auto told_by_arrows = [&](const geometry::OutlineRegistration& other) {
    return both_directed(reference, measured) &&
           arrows_apart(other, reference, measured) >
               arrows_apart(taken, reference, measured) + grain_disagrees_deg * degree;
  };
  for (const geometry::OutlineRegistration& other : fits) {
    if (&other == &taken || other.score() > nearly_as_good * std::max(taken.score(), good)) continue;
    if (told_by_arrows(other)) continue;
    const double turn = std::abs(std::remainder(other.rigid.angle - taken.rigid.angle, 2 * std::numbers::pi)) / degree;
    add_fault(change, "registration-ambiguous", Severity::note,
              fmt::format("turned by {:.0f} deg the reference fits nearly as well ({:.2f} mm rms left, here {:.2f} mm)",
                          turn, other.affine_rms, taken.affine_rms),
              "Look at the picture: is the reference the right way round? A grain arrow on both panels would tell.");
    return;
  }
}

/// Refuses when the outlines are not those of one panel seen from one side.
bool comparable(DimensionalChange& change, const geometry::OutlineRegistration& fit,
                const geometry::OutlineRegistration& mirrored, double length, const ChangeOptions& options) {
  const double noticeable = std::max(0.5, 0.002 * length);  // mm: a symmetric panel fits its mirror image as well
  if (mirrored.score() < options.mirrored_share * fit.score() && fit.affine_rms > noticeable) {
    if (change.reference_mirrored)
      add_fault(change, "mirrored-fits-better", Severity::refusal,
                fmt::format("the reference was mirrored since it was said to show the other side; so it leaves {:.1f} "
                            "mm rms and as it is {:.1f} mm: it probably shows the same side",
                            fit.affine_rms, mirrored.affine_rms),
                "Correct the panel's side in the job; for two files leave --other-side out.");
    else
      add_fault(change, "mirrored-fits-better", Severity::refusal,
                fmt::format("the reference leaves {:.1f} mm rms as it is and {:.1f} mm mirrored: it probably shows the "
                            "panel's other side",
                            fit.affine_rms, mirrored.affine_rms),
                "Compare what shows the same side. When you know that the reference shows the other one: in a job name "
                "its piece of an earlier run, which says its side; for two files give --other-side.");
    return false;
  }
  if (fit.strain > options.largest_strain || fit.affine_rms > options.largest_left * length) {
    add_fault(change, "not-the-same-panel", Severity::refusal,
              fmt::format("laid on each other the outlines differ by {:.1f} mm rms, and lengths by up to {:.1f} %",
                          fit.rigid_rms, 100 * fit.strain),
              "Are these the same panel, in mm, and the same line of it (cut line with cut line)?");
    return false;
  }
  return true;
}

void tell_method(DimensionalChange& change) {
  add_fault(
      change, "outside-method", Severity::note,
      "ISO 3759 and ISO 5077 measure marks on flat fabric that was conditioned and not pulled; cloth that stretches "
      "easily, some upholstery among it, is outside what their method is for",
      "Lay such a panel without tension and take the figures as this panel's, not as the material's.");
}

void take_residuals(DimensionalChange& change, const geometry::ClosedOutline& reference, const ComparedShape& shape,
                    const ComparedShape& reference_shape, const geometry::ClosedOutline& measured, double step) {
  Polyline laid, mapped;
  for (const Vec2& p : reference.points()) {
    laid.push_back(change.measured_from_reference * p);
    mapped.push_back(change.affine * p);
  }
  const geometry::ClosedOutline rigid(laid), affine(mapped);
  const double reference_sigma = median_shared_sigma(reference_shape.outline);
  const auto count = static_cast<std::size_t>(std::max(8.0, std::round(measured.length() / step)));
  for (const geometry::OutlinePlace& place : measured.places(count)) {
    const double U = shape.outline.U[place.segment];
    change.residuals.push_back({place.along, place.point, place.outward, rigid.nearest(place.point).away,
                                affine.nearest(place.point).away, std::hypot(U, 2 * reference_sigma)});
  }
  change.reference_outline = laid;
}

void take_extents(DimensionalChange& change, const ComparedShape& reference, const ComparedShape& measured,
                  const Vec2& reference_direction) {
  const auto fill = [&](LengthChange& length, const Vec2& before, const Vec2& after) {
    length.before = extent(reference.outline.points, before);
    length.after = extent(measured.outline.points, after);
    const double sigma = 2 * std::hypot(median_shared_sigma(reference.outline), median_shared_sigma(measured.outline));
    length.change = {percent_change(length.before, length.after), 100 * 2 * sigma / length.before};
  };
  fill(change.extent_along, reference_direction, change.direction);
  fill(change.extent_across, geometry::left_of(reference_direction), geometry::left_of(change.direction));
}

DimensionalChange titled(const std::string& reference, const std::string& reference_kind,
                         const ComparedShape& measured) {
  DimensionalChange change;
  change.reference = reference;
  change.reference_kind = reference_kind;
  change.measured = measured.name;
  change.measured_kind = measured.kind;
  change.measured_outline = measured.outline.points;
  return change;
}
}  // namespace

std::string to_string(DirectionFrom from) {
  switch (from) {
    case DirectionFrom::given:
      return "given";
    case DirectionFrom::measured_grain:
      return "grain of the measured panel";
    case DirectionFrom::reference_grain:
      return "grain of the reference";
    default:
      return "longer side";
  }
}

void check(const ChangeOptions& o) {
  check(o.edges);
  check(o.registration);
  check_option("direction of the grain, degrees,", o.grain_deg, -360, 360);
  check_option("distance of bench marks, mm,", o.bench, 50, 5000);
  for (const GivenDistance& given : o.given) check_option("distance before, mm,", given.before, 1e-3, 1e5);
  check_option("outline that counts as one, mm,", o.alike, 0.1, 10000);
  check_option("step of the residual map, mm,", o.residual_step, 0.1, 1000);
  check_option("share that a mirrored reference leaves", o.mirrored_share, 0, 1);
  check_option("largest strain, as a share,", o.largest_strain, 0, 1);
  check_option("most left of the panel's length, as a share,", o.largest_left, 0, 1);
  check_option("change that is not even, mm rms,", o.large_left, 0, 1000);
}

DimensionalChange dimensional_change(const ComparedShape& given_reference, const ComparedShape& measured,
                                     const ChangeOptions& options) {
  check(options);
  DimensionalChange change = titled(given_reference.name, given_reference.kind, measured);
  change.by_outline = true;
  const bool sides_differ = given_reference.side && measured.side && *given_reference.side != *measured.side;
  change.reference_mirrored = options.other_side || sides_differ;
  const ComparedShape turned = other_side(given_reference);
  const ComparedShape& reference = change.reference_mirrored ? turned : given_reference;
  const geometry::ClosedOutline from(reference.outline.points), to(measured.outline.points),
      from_mirrored((change.reference_mirrored ? given_reference : turned).outline.points);
  const std::vector<geometry::OutlineRegistration> fits = geometry::register_outlines(from, to, options.registration);
  const geometry::OutlineRegistration& fit = chosen(fits, reference, measured);
  const geometry::OutlineRegistration mirrored =
      geometry::register_outlines(from_mirrored, to, options.registration).front();

  change.measured_from_reference = fit.rigid;
  change.affine = fit.affine;
  change.rigid_rms = fit.rigid_rms;
  change.left_rms = fit.affine_rms;
  for (const Vec2& p : from.points()) change.reference_outline.push_back(fit.rigid * p);
  if (!comparable(change, fit, mirrored, 0.25 * to.length(), options)) return change;
  change.done = true;
  const Vec2 reference_direction = take_direction(change, &reference, measured, options);
  take_strain(change, reference, measured, geometry::places_of(fit, from, to, options.registration),
              reference_direction, options.alike);
  take_extents(change, reference, measured, reference_direction);
  take_residuals(change, from, measured, reference, to, options.residual_step);
  change.edges = edge_changes(change, reference, measured, options.edges);
  change.distances = mark_distances(change, &reference, measured, options);
  tell_ambiguity(change, fits, fit, reference, measured);
  if (fit.affine_rms > options.large_left)
    add_fault(change, "change-not-even", Severity::warning,
              fmt::format("{:.1f} mm rms is left that one change along, one across and a shear do not explain",
                          fit.affine_rms),
              "The panel wore or was cut unevenly: go by the table of edges and the picture, not by one percentage.");
  if (measured.grain && reference.grain) {
    const double apart = angle_between_lines(grain_of(measured), change.affine.linear * grain_of(reference)) / degree;
    if (apart > grain_disagrees_deg)
      add_fault(change, "grain-disagrees", Severity::note,
                fmt::format("the grain arrows of the two differ by {:.0f} deg once they lie on each other", apart),
                "The measured panel's was taken; if it is wrong give the right direction: grain_deg in the job, "
                "--grain-deg for two files.");
  }
  tell_method(change);
  return change;
}

DimensionalChange dimensional_change(const NominalSize& reference, const ComparedShape& measured,
                                     const ChangeOptions& options) {
  check(options);
  require_above("length of the reference, mm,", reference.length, 0);
  require_above("width of the reference, mm,", reference.width, 0);
  DimensionalChange change =
      titled(fmt::format("{:g} x {:g} mm", reference.length, reference.width), "given size", measured);
  change.done = true;
  take_direction(change, nullptr, measured, options);
  const geometry::TurnedRectangle box = geometry::smallest_rectangle(measured.outline.points);
  double length = extent(measured.outline.points, change.direction),
         width = extent(measured.outline.points, geometry::left_of(change.direction));
  for (const bool longer : {true, false}) {
    const Vec2 side = longer ? box.along : geometry::left_of(box.along);
    if (angle_between_lines(side, change.direction) > snap_deg * degree) continue;
    length = longer ? box.length : box.width;
    width = longer ? box.width : box.length;
  }
  NominalSize nominal = reference;
  if (change.direction_from == DirectionFrom::longer_side && nominal.length < nominal.width)
    std::swap(nominal.length, nominal.width);
  const double sigma = 2 * median_shared_sigma(measured.outline);
  const auto compared = [&](double before, double after) {
    return LengthChange{before, after, {percent_change(before, after), 100 * 2 * sigma / before}};
  };
  change.extent_along = compared(nominal.length, length);
  change.extent_across = compared(nominal.width, width);
  change.along = change.extent_along.change;
  change.across = change.extent_across.change;
  change.distances = mark_distances(change, nullptr, measured, options);
  tell_method(change);
  return change;
}

}  // namespace chalkfold::draft
