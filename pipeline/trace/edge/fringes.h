// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/trace/edge/boundary_sampler.h"

namespace chalkfold::trace {

/// Leads a followed boundary (counter-clockwise for outlines; outward is on the right) straight past tufts: places where it leaves its course outward and
/// comes back to it round a bundle of threads. Course: one parabola through the boundary before and after, so that no corner is taken for a tuft.
/// A tuft lets the table through where a tab is solid; that tells them apart, and nothing is cut off a tab.
Polyline without_fringes(const BoundarySampler& sampler, const Polyline& followed);

}  // namespace chalkfold::trace
