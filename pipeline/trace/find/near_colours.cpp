// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/find/near_colours.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "pipeline/trace/base/table_colours.h"
#include "pipeline/trace/find/eye_panels.h"
#include "pipeline/trace/find/learn_table.h"
#include "pipeline/trace/find/panel_shape.h"
#include "pipeline/trace/find/table_masks.h"
#include "pipeline/trace/find/weigh_eye.h"

namespace chalkfold::trace {
namespace {

// fitted where nothing else is said: the photographs with a hard shadow, brown on brown and cream on linen
constexpr int rounds = 3;
constexpr double inside = 10, beside_from = 10, beside_to = 45;  // mm from the border: where each surely lies
constexpr double reach = 12;                                     // mm a border may move in one round
constexpr double window = 3;              // mm, sigma of the neighbourhood: a wood's grain is narrower
constexpr double most_odds = 3;           // nats: no pixel outvotes its neighbourhood
constexpr int parts = 4, samples = 4000;  // colours: a check's two, chalk and shade; px, for speed
// Least spread of a colour, codes of Lab: the rounding to 8 bits and a little light, where lab_floor would make near colours one.
const Eigen::Vector3d floor_of_near(1.5, 1, 1);

// What a shadow leaves of the open light: from a hand's breadth over the lamp to nearly all of it.
constexpr std::array shades{0.85, 0.75, 0.65, 0.56, 0.48, 0.41, 0.35, 0.3, 0.25, 0.2};

/// A picture as it were without a shadow that leaves so much of the light.
cv::Mat relit_lab(const cv::Mat& lab, double shade) {
  // In Lab a ratio of light scales L + 16 of 100, a and b by its cube root (CIE 15).
  constexpr double offset = 16.0 * 255 / 100;
  const double k = 1 / std::cbrt(shade);
  cv::Mat lit;
  lab.convertTo(lit, CV_32FC3, k);
  lit += cv::Scalar((k - 1) * offset, lab_grey * (1 - k), lab_grey * (1 - k));
  lit.convertTo(lit, CV_8UC3);
  return lit;
}

/// log odds of panel against table, where each may lie in one shadow of one depth, the same on both: the depth under which the whole is likeliest.
/// `lit`, `shaded`: log of the network's probability of open light and of shadow.
cv::Mat odds_under_shadow(const ColourMixture& own, const ColourMixture& table, const cv::Mat& lab,
                          const cv::Mat& where, const cv::Mat& lit, const cv::Mat& shaded) {
  constexpr double neither = -12;  // log density of colours that are neither's: even over what Lab holds
  const cv::Mat own_lit = own.log_density(lab, where) + lit, table_lit = table.log_density(lab, where) + lit;
  cv::Mat best;
  double best_total = 0;
  for (const double shade : shades) {
    const cv::Mat brighter = relit_lab(lab, shade);
    cv::Mat as_own = cv::max(own_lit, own.log_density(brighter, where) + shaded),
            as_table = cv::max(table_lit, table.log_density(brighter, where) + shaded);
    as_own = cv::max(as_own, neither);
    as_table = cv::max(as_table, neither);
    const double total = cv::mean(cv::max(as_own, as_table), where)[0];
    if (!best.empty() && total <= best_total) continue;
    best = as_own - as_table;
    best_total = total;
  }
  return best;
}

/// What is learnt of a panel and of the table about it.
struct BothColours {
  ColourMixture own, table;
};

/// `sampled`: CV_8U, where colours may be learnt.
BothColours learn_both(const cv::Mat& mask, const cv::Mat& lab, const cv::Mat& sampled, const Eigen::Vector3d& floor,
                       double mm_per_px) {
  cv::Mat core, grown, far;
  cv::erode(mask, core, disc(2 * inside / mm_per_px));
  cv::dilate(mask, grown, disc(2 * beside_from / mm_per_px));
  cv::dilate(mask, far, disc(2 * beside_to / mm_per_px));
  return {ColourMixture::fit(lab, core & sampled, parts, floor, samples),
          ColourMixture::fit(lab, far & ~grown & sampled, parts, floor, samples)};
}

cv::Mat clipped(cv::Mat odds) {
  cv::min(odds, most_odds, odds);
  cv::max(odds, -most_odds, odds);
  return odds;
}

/// Where the odds of a neighbourhood speak for panel: the largest part, chalk on it filled.
cv::Mat by_neighbourhood(const cv::Mat& odds, const cv::Mat& where, double mm_per_px) {
  cv::Mat smooth, labels, stats, centroids;
  cv::GaussianBlur(odds, smooth, {0, 0}, window / mm_per_px);
  constexpr double sliver = 8;  // mm: narrower is a shadow's or a grain's border; a right corner loses 1.7 mm to it
  // A chalk mark is neither's colour, and cuts a nick as wide as itself and the window: the outline would knot where its normals cross in it.
  constexpr double nick = 12;  // mm: chalk of up to 6 mm, and a sigma of the window on either side
  cv::Mat mask;
  cv::morphologyEx((smooth > 0) & where, mask, cv::MORPH_OPEN, disc(sliver / mm_per_px));
  cv::morphologyEx(mask, mask, cv::MORPH_CLOSE, disc(nick / mm_per_px));
  mask = largest_part(mask);
  const int count = cv::connectedComponentsWithStats(~mask, labels, stats, centroids, 4);
  constexpr double chalk = 400;  // mm2: no cut-out of a panel of the table's colour is told from chalk
  for (int i = 1; i < count; ++i)
    if (stats.at<int>(i, cv::CC_STAT_AREA) * mm_per_px * mm_per_px < chalk) mask.setTo(255, labels == i);
  return mask;
}

/// Within reach of a mask's border, or inside.
cv::Mat near_to(const cv::Mat& mask, double mm_per_px) {
  cv::Mat near;
  cv::dilate(mask, near, disc(2 * reach / mm_per_px));
  return near;
}

}  // namespace

cv::Mat told_from_near_colours(const cv::Mat& seen, const cv::Mat& lab, const EyeMaps& eye, const cv::Mat& open,
                               double mm_per_px) {
  const cv::Mat eye_odds = log_odds(eye.panel);
  cv::Mat mask = seen.clone();
  for (int round = 0; round < rounds; ++round) {
    const auto [own, table] = learn_both(mask, lab, open, floor_of_near, mm_per_px);
    if (own.empty() || table.empty()) return mask;
    const cv::Mat near = near_to(mask, mm_per_px) & open;
    const cv::Mat odds = clipped(own.log_density(lab, near) - table.log_density(lab, near)) + eye_odds;
    mask = by_neighbourhood(odds, near, mm_per_px);
  }
  return mask;
}

cv::Mat told_under_shadow(const cv::Mat& seen, const cv::Mat& lab, const EyeMaps& eye, const cv::Mat& open,
                          double mm_per_px) {
  constexpr double unsure = 0.05;     // the network never says more than 20 to 1 of shadow: its weakest map
  constexpr double open_light = 0.3;  // probability of shadow below which colours are learnt
  constexpr double any_edge = 0.05;   // probability of edge: a shadow's own edge counts here
  const cv::Mat q = cv::min(cv::max(eye.shadow, unsure), 1 - unsure), eye_odds = log_odds(eye.panel);
  cv::Mat lit, shaded, mask = seen.clone(), allowed = open.clone();
  cv::log(q, shaded);
  cv::log(1 - q, lit);
  const cv::Mat sampled = open & (eye.shadow < open_light);
  for (int round = 0; round < rounds; ++round) {
    const auto [own, table] = learn_both(mask, lab, sampled, lab_floor, mm_per_px);
    if (own.empty() || table.empty()) return mask;
    const cv::Mat near = near_to(mask, mm_per_px) & allowed;
    const cv::Mat odds = clipped(odds_under_shadow(own, table, lab, near, lit, shaded));
    if (round == 0) {
      // What lies between edges is one thing and is decided as a whole: a band of shaded table may have just the colour of the panel in the light.
      const cv::Mat between = parts_between_edges(seen, eye.edge, any_edge, mm_per_px);
      double count = 0;
      cv::minMaxLoc(between, nullptr, &count);
      for (int i = 1; i <= static_cast<int>(count); ++i) {
        const cv::Mat part = between == i;
        if (cv::countNonZero(part) == 0 || cv::mean(odds, part)[0] > 0) continue;
        mask &= ~part;
        allowed &= ~part;
      }
      mask = largest_part(mask);
      continue;
    }
    mask = by_neighbourhood(odds + eye_odds, near, mm_per_px);
  }
  return mask;
}

}  // namespace chalkfold::trace
