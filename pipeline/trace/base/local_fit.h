// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "pipeline/geometry/point.h"

namespace chalkfold::trace {

/// One value with its place along a line, for local regression.
struct LocalSample {
  /// mm along
  double at = 0;
  double value = 0;
  /// 0 leaves it out
  double weight = 1;
};

struct LocalValue {
  double value = 0, slope = 0;
  /// robust standard deviation of single samples about the fit
  double scatter = 0;
  /// how many samples the value rests on (sum of weights)
  double effective = 0;
};

/// Robust local quadratic regression (W. Cleveland, "Robust locally weighted regression and smoothing scatterplots", 1979): tricube weights over
/// +- window, four rounds of bisquare reweighting. `samples` ascend in `at`; when `period` > 0 they repeat with that period. With fewer than six samples in
/// reach the window widens.
LocalValue local_fit(const std::vector<LocalSample>& samples, double at, double window, double period);

}  // namespace chalkfold::trace
