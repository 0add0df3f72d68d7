// SPDX-License-Identifier: Apache-2.0
// The mark classifiers fed with strokes and outlines that no panel has: points on one spot, strokes of a micrometre and of a kilometre,
// outlines that cross themselves. They must end, stay within their contracts and give finite numbers.
//
//   fuzz_marks SECONDS [SEED]
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>

#include "pipeline/geometry/closed_outline.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/trace/chalk/centre_line.h"
#include "pipeline/trace/chalk/match_marks.h"
#include "pipeline/trace/chalk/panel_picture.h"
#include "pipeline/trace/chalk/writing.h"
#include "pipeline/trace/cuts/notch_course.h"
#include "pipeline/trace/cuts/notches.h"

namespace chalkfold {
namespace {

using Engine = std::mt19937_64;

double uniform(Engine& e, double low, double high) {
  return low + (high - low) * static_cast<double>(e() >> 11) * 0x1.0p-53;
}
int integer(Engine& e, int low, int high) {
  return low + static_cast<int>(e() % static_cast<unsigned>(high - low + 1));
}
Vec2 point(Engine& e, double size) { return {uniform(e, -size, size), uniform(e, -size, size)}; }

double odd_size(Engine& e) {
  constexpr double sizes[] = {1e-6, 0.3, 5, 40, 300, 3000, 1e6};
  return sizes[integer(e, 0, 6)];
}

Polyline odd_line(Engine& e, int least) {
  Polyline line = {point(e, odd_size(e))};
  const int n = integer(e, least, 60);
  const double step = odd_size(e) / 20;
  Vec2 heading = point(e, 1);
  while (static_cast<int>(line.size()) < n) {
    switch (integer(e, 0, 5)) {
      case 0:
        line.push_back(line.back());
        break;
      case 1:
        line.push_back(point(e, odd_size(e)));
        break;
      default:
        heading += point(e, 0.3);
        line.push_back(line.back() + step * heading);
    }
  }
  return line;
}

Polyline odd_outline(Engine& e) {
  if (integer(e, 0, 3) == 0) return odd_line(e, 3);
  Polyline outline;
  const int n = integer(e, 3, 400);
  const double a = uniform(e, 1, 400), b = uniform(e, 1, 400), rough = integer(e, 0, 1) ? uniform(e, 0, 30) : 0;
  for (int i = 0; i < n; ++i)
    outline.emplace_back(a * std::cos(2 * M_PI * i / n) + uniform(e, -rough, rough),
                         b * std::sin(2 * M_PI * i / n) + uniform(e, -rough, rough));
  return outline;
}

trace::Stroke odd_stroke(Engine& e) {
  trace::Stroke s;
  s.points = odd_line(e, 2);
  s.length = geometry::length(s.points, false);
  s.width = integer(e, 0, 4) == 0 ? 0 : uniform(e, 0, 8);
  for (int c = 0; c < 3; ++c) s.departure[c] = static_cast<float>(uniform(e, -50, 50));
  s.contrast = integer(e, 0, 6) == 0 ? 0 : cv::norm(s.departure);
  s.steadiness = uniform(e, 0, 1);
  s.significance = uniform(e, 0, 400);
  return s;
}

/// Departures by chance, on a few centimetres of the panel or on more than all of it.
trace::PanelPicture odd_picture(Engine& e) {
  trace::PanelPicture picture;
  picture.raster = {uniform(e, 0.2, 40), point(e, 400), {integer(e, 1, 40), integer(e, 1, 40)}};
  picture.inside.create(picture.raster.size, CV_8UC1);
  picture.departure.create(picture.raster.size, CV_32FC3);
  for (int y = 0; y < picture.inside.rows; ++y) {
    for (int x = 0; x < picture.inside.cols; ++x) {
      picture.inside.at<unsigned char>(y, x) = integer(e, 0, 5) == 0 ? 0 : 255;
      for (int c = 0; c < 3; ++c) picture.departure.at<cv::Vec3f>(y, x)[c] = static_cast<float>(uniform(e, -50, 50));
    }
  }
  return picture;
}

void require(bool good, const char* what, std::uint64_t round) {
  if (good) return;
  std::fprintf(stderr, "fuzz_marks: %s in round %llu\n", what, static_cast<unsigned long long>(round));
  std::exit(1);
}

bool finite(const Vec2& p) { return std::isfinite(p.x()) && std::isfinite(p.y()); }

void one_round(Engine& e, std::uint64_t round) {
  // What every panel's outline is, however odd: counter-clockwise, with an area.
  Polyline points = odd_outline(e);
  const double area = geometry::signed_area(points);
  if (area < 0) std::reverse(points.begin(), points.end());
  if (!(std::abs(area) > 0)) return;
  const geometry::ClosedOutline outline(std::move(points));
  std::vector<trace::Stroke> strokes;
  for (int n = integer(e, 0, 12); n > 0; --n) strokes.push_back(odd_stroke(e));
  std::vector<bool> used(strokes.size(), false);
  std::vector<panel::MatchMark> matches = trace::find_match_marks(odd_picture(e), strokes, outline, used);
  for (const panel::MatchMark& m : matches) {
    require(finite(m.foot) && finite(m.tip) && std::isfinite(m.sigma), "a match mark that is not finite", round);
    require(m.along >= 0 && m.along <= outline.length() * (1 + 1e-9), "a match mark off the outline", round);
  }
  const trace::CentreLineResult centre = trace::find_centre_line(strokes, outline, used);
  if (centre.line)
    require(finite(centre.line->from) && finite(centre.line->to), "a centre line that is not finite", round);
  for (const panel::Writing& w : trace::find_writing(strokes, used, matches)) {
    for (const Vec2& p : w.box) require(finite(p), "a box that is not finite", round);
  }
  for (const trace::Stroke& s : strokes) {
    const Polyline run = trace::longest_straight_run(s.points, uniform(e, 0.1, 5));
    require(run.size() >= 2 && run.size() <= s.points.size(), "a straight run of no length", round);
    trace::underside_letter({s.points});
  }
  panel::Panel panel;
  panel.outline.points = outline.points();
  panel.outline.sigma.assign(panel.outline.points.size(), 0.1);
  panel.outline.U.assign(panel.outline.points.size(), 0.2);
  if (outline.length() > 1e4 || outline.length() < 60) return;  // bases are made every two millimetres
  const std::vector<trace::EdgeBase> bases = trace::edge_bases(outline);
  std::vector<std::vector<trace::NotchCut>> cuts(bases.size());
  for (std::size_t b = 0; b < bases.size(); ++b) {
    const double end = static_cast<double>(bases[b].points.size() - 1) * bases[b].spacing;
    for (int n = integer(e, 0, 3); n > 0 && end > 30; --n) {
      trace::NotchCut cut;
      cut.from = uniform(e, 5, end - 12);
      cut.to = cut.from + uniform(e, 0.02, 6);
      cut.course = {point(e, 100), point(e, 100), point(e, 100)};
      cut.notch.foot = cut.course[0];
      cut.notch.tip = cut.course[1];
      cuts[b].push_back(cut);
    }
  }
  trace::cut_notches(panel, bases, cuts);
  require(panel.outline.points.size() == panel.outline.sigma.size() &&
              panel.outline.points.size() == panel.outline.U.size(),
          "an outline out of step", round);
  for (const panel::Notch& n : panel.marks.notches)
    require(n.first < n.last && n.last < panel.outline.points.size(), "a notch's ends out of order", round);
  require(panel::outline_across_notches(panel).points.size() <= panel.outline.points.size(),
          "more points across the notches than with them", round);
}

}  // namespace
}  // namespace chalkfold

int main(int argc, char** argv) {
  const double seconds = argc > 1 ? std::atof(argv[1]) : 2;
  const std::uint64_t seed = argc > 2 ? std::strtoull(argv[2], nullptr, 10) : 1;
  const auto start = std::chrono::steady_clock::now();
  std::uint64_t round = 0;
  while (std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count() < seconds) {
    chalkfold::Engine engine(seed * 1000003 + round);
    chalkfold::one_round(engine, round++);
  }
  std::printf("%llu rounds, nothing found\n", static_cast<unsigned long long>(round));
  return round > 0 ? 0 : 1;
}
