// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/draft/change/change_figures.h"
#include "pipeline/draft/change/change_options.h"
#include "pipeline/draft/change/compared_shape.h"

/// The parts of dimensional_change that stand in files of their own.
namespace chalkfold::draft {

/// rad 0..pi/2 between two undirected lines.
double angle_between_lines(const Vec2& a, const Vec2& b);

/// mm: all of a point's standard uncertainty but its own edge finding: what whole stretches of outline share.
double shared_sigma(const panel::Contour& contour, std::size_t point);
double median_shared_sigma(const panel::Contour& contour);

/// Fills along, across, shear and their U from the affine map, by the rules of dimensional_change. `change.direction` and
/// `change.affine` are set before.
void take_strain(DimensionalChange& change, const ComparedShape& reference, const ComparedShape& measured,
                 const std::vector<geometry::FitPlace>& places, const Vec2& reference_direction, double alike);

/// Edges between corners that both outlines have; an outline without common corners is one edge.
std::vector<EdgeChange> edge_changes(const DimensionalChange& change, const ComparedShape& reference,
                                     const ComparedShape& measured, const EdgeOptions& options);

/// Distances between bench marks: of the measured shape and the reference's where both have them, otherwise against
/// `options.bench`; and the given ones. `reference` may be null.
std::vector<MarkDistance> mark_distances(const DimensionalChange& change, const ComparedShape* reference,
                                         const ComparedShape& measured, const ChangeOptions& options);

}  // namespace chalkfold::draft
