// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/chalk/inks.h"

#include <algorithm>
#include <iterator>

namespace chalkfold::trace {
namespace {

// fitted: no source but the marks found and invented, as chalkfold_marks_accuracy --renders 200 --seed 1000 tells.
constexpr double ink_length = 10;     // mm: shorter may be a crumb; fitted
constexpr std::size_t most_inks = 3;  // a trimmer marks with one or two, common practice; a third may be a thread's
constexpr double least_of_strongest = 0.12;  // contrast of an ink, of that of the strongest; fitted
constexpr double one_place = 15;             // mm between strokes that may be one thread; fitted

}  // namespace

std::vector<ChalkInk> inks_of(const std::vector<Stroke>& strokes, double most_ratio) {
  struct Sum {
    cv::Vec3f departure;
    double length = 0;
    Polyline places;  // one point of each, far apart
  };
  std::vector<Sum> sums;
  for (const Stroke& s : strokes) {
    if (s.contrast < ink_contrast || s.length < ink_length) continue;
    auto same = std::find_if(sums.begin(), sums.end(), [&](const Sum& sum) {
      const double norm = cv::norm(sum.departure), strength = norm / sum.length;
      return sum.departure.dot(s.departure) > same_ink * norm * s.contrast && s.contrast < most_ratio * strength &&
             strength < most_ratio * s.contrast;
    });
    if (same == sums.end()) same = sums.insert(sums.end(), Sum{});
    same->departure += s.departure * static_cast<float>(s.length);
    same->length += s.length;
    const Vec2& place = s.points[s.points.size() / 2];
    const bool known = std::any_of(same->places.begin(), same->places.end(),
                                   [&](const Vec2& p) { return (p - place).norm() < one_place + s.length; });
    if (!known) same->places.push_back(place);
  }
  std::stable_sort(sums.begin(), sums.end(), [](const Sum& a, const Sum& b) { return a.length > b.length; });
  if (sums.size() > most_inks) sums.resize(most_inks);
  std::vector<ChalkInk> inks;
  for (const Sum& sum : sums) {
    const double norm = cv::norm(sum.departure);
    inks.push_back({sum.departure * (1.0f / static_cast<float>(norm)), norm / sum.length, sum.places.size()});
  }
  // Beside a chalk that is all over the panel, what is next to nothing against it is no second one.
  double strongest = 0;
  for (const ChalkInk& ink : inks)
    if (ink.sure()) strongest = std::max(strongest, ink.contrast);
  std::erase_if(inks, [&](const ChalkInk& ink) { return ink.contrast < least_of_strongest * strongest; });
  return inks;
}

std::vector<ChalkInk> plain_inks(const PanelPicture& picture) {
  const cv::Vec3f lighter = picture.departure_from_bgr * cv::Vec3f(1, 1, 1);
  const cv::Vec3f unit = lighter * (1.0f / static_cast<float>(std::max(1e-9, cv::norm(lighter))));
  return {{unit}, {-unit}};
}

std::vector<ChalkInk> taught_late(const std::vector<Stroke>& strokes, double least_significance) {
  constexpr double most_ratio = 2.5;  // a thread may have the chalk's colour, but not its strength; fitted
  std::vector<Stroke> certain;
  std::copy_if(strokes.begin(), strokes.end(), std::back_inserter(certain),
               [&](const Stroke& s) { return s.significance >= least_significance; });
  std::vector<ChalkInk> inks = inks_of(certain, most_ratio);
  std::erase_if(inks, [](const ChalkInk& ink) { return !ink.sure(); });
  return inks;
}

}  // namespace chalkfold::trace
