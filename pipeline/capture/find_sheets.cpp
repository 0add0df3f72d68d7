// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <map>
#include <opencv2/aruco.hpp>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "calib/sheet_layout.h"
#include "pipeline/capture/saddle_corner.h"
#include "pipeline/capture/sheet_faults.h"
#include "pipeline/capture/sighting.h"
#include "pipeline/common/check_option.h"
#include "pipeline/common/require.h"
#include "pipeline/geometry/robust.h"

namespace chalkfold::capture {
namespace {

/// Sheet marker or tag as the marker detector saw it, corners in full-size photo px.
struct MarkerSighting {
  int id;
  std::array<Vec2, 4> corners;
};

std::vector<MarkerSighting> detect_markers(const cv::Mat& grey, int search_px) {
  cv::Mat reduced = grey;
  const double scale = std::min(1.0, static_cast<double>(search_px) / std::max(grey.cols, grey.rows));
  if (scale < 1) cv::resize(grey, reduced, {}, scale, scale, cv::INTER_AREA);
  const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
  const auto parameters = cv::aruco::DetectorParameters::create();
  // One threshold window of about a marker's side serves all scales that matter; each further window costs a pass over the picture.
  parameters->adaptiveThreshWinSizeMin = 25;
  parameters->adaptiveThreshWinSizeMax = 25;
  parameters->adaptiveThreshWinSizeStep = 10;
  parameters->minMarkerPerimeterRate = 0.02;
  parameters->maxMarkerPerimeterRate = 1.0;
  parameters->errorCorrectionRate = 0.3;  // 1000 codes lie close: correct less, invent less
  parameters->cornerRefinementMethod = cv::aruco::CORNER_REFINE_NONE;
  std::vector<std::vector<cv::Point2f>> corners;
  std::vector<int> ids;
  cv::aruco::detectMarkers(reduced, dictionary, corners, ids, parameters);
  std::vector<MarkerSighting> markers;
  const double sx = static_cast<double>(grey.cols) / reduced.cols, sy = static_cast<double>(grey.rows) / reduced.rows;
  for (std::size_t i = 0; i < ids.size(); ++i) {
    MarkerSighting m{ids[i], {}};
    for (std::size_t k = 0; k < 4; ++k)
      m.corners[k] = Vec2((corners[i][k].x + 0.5) * sx - 0.5, (corners[i][k].y + 0.5) * sy - 0.5);
    markers.push_back(m);
  }
  std::sort(markers.begin(), markers.end(), [](const auto& a, const auto& b) {
    return std::tie(a.id, a.corners[0].x(), a.corners[0].y()) < std::tie(b.id, b.corners[0].x(), b.corners[0].y());
  });
  return markers;
}

Vec2 map(const Mat3& h, const Vec2& p) { return (h * p.homogeneous()).hnormalized(); }

/// d photo / d sheet at a point, px per mm.
Mat2 local_map(const Mat3& h, const Vec2& p) {
  const double step = 1.0;
  Mat2 m;
  m.col(0) = (map(h, p + Vec2(step, 0)) - map(h, p - Vec2(step, 0))) / (2 * step);
  m.col(1) = (map(h, p + Vec2(0, step)) - map(h, p - Vec2(0, step))) / (2 * step);
  return m;
}

/// photo_from_sheet by least squares over point pairs; robust when asked. Nothing when it cannot be had.
std::optional<Mat3> homography(const Polyline& sheet, const Polyline& photo, double ransac_px) {
  std::vector<cv::Point2d> a, b;
  for (std::size_t i = 0; i < sheet.size(); ++i) {
    a.emplace_back(sheet[i].x(), sheet[i].y());
    b.emplace_back(photo[i].x(), photo[i].y());
  }
  if (a.size() < 4) return std::nullopt;
  const cv::Mat h = cv::findHomography(a, b, ransac_px > 0 ? cv::RANSAC : 0, ransac_px);
  if (h.empty()) return std::nullopt;
  Mat3 out;
  for (int r = 0; r < 3; ++r) {
    for (int c = 0; c < 3; ++c) out(r, c) = h.at<double>(r, c);
  }
  return out;
}

/// Homography of a sheet from its markers, refused (with the share of agreeing corners) when they do not lie as the layout says.
struct MarkerFit {
  std::optional<Mat3> photo_from_sheet;
  int markers = 0;
  /// share of marker corners within a tenth of a square of the layout
  double agreeing = 0;
};

MarkerFit fit_markers(int number, const std::vector<MarkerSighting>& markers) {
  Polyline on_sheet, in_photo;
  MarkerFit fit;
  for (const MarkerSighting& m : markers) {
    if (sheet::sheet_of_marker(m.id) != number) continue;
    const auto corners = sheet::marker_corners(m.id - sheet::marker_id(number, 0));
    on_sheet.insert(on_sheet.end(), corners.begin(), corners.end());
    in_photo.insert(in_photo.end(), m.corners.begin(), m.corners.end());
    ++fit.markers;
  }
  if (fit.markers < 2) return fit;
  double side = 0;
  for (std::size_t i = 0; i < in_photo.size(); i += 4)
    side += (in_photo[i + 1] - in_photo[i]).norm() / static_cast<double>(fit.markers);
  const double tolerance = 0.1 * side * sheet::square / sheet::marker;
  fit.photo_from_sheet = homography(on_sheet, in_photo, tolerance);
  if (!fit.photo_from_sheet) return fit;
  int agree = 0;
  for (std::size_t i = 0; i < on_sheet.size(); ++i)
    agree += (map(*fit.photo_from_sheet, on_sheet[i]) - in_photo[i]).norm() < tolerance;
  fit.agreeing = static_cast<double>(agree) / static_cast<double>(on_sheet.size());
  return fit;
}

struct CornerFit {
  int corner;
  SaddleFit saddle;
};

bool in_frame(const cv::Mat& grey, const Vec2& p, double margin) {
  return p.x() >= margin && p.y() >= margin && p.x() <= grey.cols - 1 - margin && p.y() <= grey.rows - 1 - margin;
}

std::vector<CornerFit> fit_corners(const cv::Mat& grey, const Mat3& photo_from_sheet) {
  std::vector<CornerFit> fits;
  for (int k = 0; k < sheet::corners_per_sheet; ++k) {
    const Vec2 at = sheet::corner(k);
    SaddleStart start;
    start.centre = map(photo_from_sheet, at);
    if (!in_frame(grey, start.centre, 2)) continue;
    start.photo_from_sheet = local_map(photo_from_sheet, at);
    if (!(std::abs(start.photo_from_sheet.determinant()) > 0.05)) continue;
    // Up-right of inner corner (column, row) lies square (column, row - 1) counted from the top left.
    const int column = k % (sheet::columns - 1) + 1, row = k / (sheet::columns - 1) + 1;
    start.first_sign = sheet::is_black(column, row - 1) ? -1 : 1;
    fits.push_back({k, fit_saddle(grey, start)});
  }
  return fits;
}

/// Residual of each corner against a homography plus a quadratic bend (the lens), fitted to the corners in `use`.
std::vector<double> sheet_residuals(const std::vector<CornerFit>& fits, const std::vector<bool>& use) {
  Polyline on_sheet, in_photo;
  for (std::size_t i = 0; i < fits.size(); ++i) {
    if (!use[i]) continue;
    on_sheet.push_back(sheet::corner(fits[i].corner));
    in_photo.push_back(fits[i].saddle.centre);
  }
  std::vector<double> residuals(fits.size(), 1e9);
  const auto h = homography(on_sheet, in_photo, 0);
  if (!h) return residuals;
  const auto basis = [](const Vec2& p) {
    const double x = p.x() / 100, y = p.y() / 100;
    return Eigen::Matrix<double, 6, 1>{1, x, y, x * x, x * y, y * y};
  };
  Eigen::MatrixXd a(on_sheet.size(), 6), b(on_sheet.size(), 2);
  for (std::size_t i = 0; i < on_sheet.size(); ++i) {
    a.row(static_cast<Eigen::Index>(i)) = basis(on_sheet[i]).transpose();
    b.row(static_cast<Eigen::Index>(i)) = (in_photo[i] - map(*h, on_sheet[i])).transpose();
  }
  const Eigen::MatrixXd bend = a.colPivHouseholderQr().solve(b);
  for (std::size_t i = 0; i < fits.size(); ++i) {
    const Vec2 at = sheet::corner(fits[i].corner);
    residuals[i] = (fits[i].saddle.centre - map(*h, at) - (basis(at).transpose() * bend).transpose()).norm();
  }
  return residuals;
}

/// Drops the worst corner again and again while it disagrees with the rest. Returns how many went.
int gate_corners(std::vector<CornerFit>& fits, const SightingOptions& options) {
  std::vector<bool> use(fits.size());
  for (std::size_t i = 0; i < fits.size(); ++i) use[i] = fits[i].saddle.ok;
  int dropped = static_cast<int>(std::count(use.begin(), use.end(), false));
  for (;;) {
    if (std::count(use.begin(), use.end(), true) < options.min_corners) break;
    const std::vector<double> residuals = sheet_residuals(fits, use);
    std::size_t worst = fits.size();
    for (std::size_t i = 0; i < fits.size(); ++i) {
      if (use[i] && (worst == fits.size() || residuals[i] > residuals[worst])) worst = i;
    }
    if (worst == fits.size() || residuals[worst] <= std::max(options.gate_px, 4 * fits[worst].saddle.sigma_px)) break;
    use[worst] = false;
    ++dropped;
  }
  std::vector<CornerFit> kept;
  for (std::size_t i = 0; i < fits.size(); ++i) {
    if (use[i]) kept.push_back(fits[i]);
  }
  fits = kept;
  return dropped;
}

/// Paper white (between marker and square border) and ink black, medians over the sheet.
void measure_tones(const cv::Mat& bgr, const Mat3& photo_from_sheet, SheetSighting& sheet_seen) {
  std::array<std::vector<double>, 3> white;
  std::vector<double> black;
  const auto pixel = [&](const Vec2& on_sheet) -> std::optional<cv::Vec3b> {
    const Vec2 p = map(photo_from_sheet, on_sheet);
    const int x = static_cast<int>(std::lround(p.x())), y = static_cast<int>(std::lround(p.y()));
    if (x < 0 || y < 0 || x >= bgr.cols || y >= bgr.rows) return std::nullopt;
    return bgr.at<cv::Vec3b>(y, x);
  };
  for (int row = 0; row < sheet::rows; ++row) {
    for (int column = 0; column < sheet::columns; ++column) {
      const Vec2 centre((column + 0.5) * sheet::square - sheet::board_width / 2,
                        sheet::board_height / 2 - (row + 0.5) * sheet::square);
      // in the black, or midway in the white frame
      const double at = sheet::is_black(column, row) ? 6.0 : 0.25 * (sheet::square + sheet::marker);
      for (const Vec2& offset : {Vec2(at, 0), Vec2(-at, 0), Vec2(0, at), Vec2(0, -at)}) {
        const auto v = pixel(centre + offset);
        if (!v) continue;
        if (sheet::is_black(column, row))
          black.push_back(0.114 * (*v)[0] + 0.587 * (*v)[1] + 0.299 * (*v)[2]);
        else
          for (int c = 0; c < 3; ++c) white[static_cast<std::size_t>(c)].push_back((*v)[c]);
      }
    }
  }
  for (int c = 0; c < 3; ++c) sheet_seen.white_bgr[c] = geometry::median(white[static_cast<std::size_t>(c)]);
  sheet_seen.white = sheet_seen.white_bgr.dot(Eigen::Vector3d(0.114, 0.587, 0.299));
  sheet_seen.black = geometry::median(black);
}

constexpr double picture_sigma_px = 0.03;  // what JPEG, demosaicing and paper leave beside the fit's own noise

std::optional<SheetSighting> see_sheet(const Photo& photo, const cv::Mat& grey, int number, Mat3 photo_from_sheet,
                                       const SightingOptions& options) {
  SheetSighting seen;
  seen.number = number;
  std::vector<CornerFit> fits = fit_corners(grey, photo_from_sheet);
  // A second round from the corners themselves: the markers' own corners are only good to a pixel or two.
  Polyline on_sheet, in_photo;
  for (const CornerFit& f : fits) {
    if (!f.saddle.ok) continue;
    on_sheet.push_back(sheet::corner(f.corner));
    in_photo.push_back(f.saddle.centre);
  }
  if (const auto better = homography(on_sheet, in_photo, 3.0)) {
    photo_from_sheet = *better;
    fits = fit_corners(grey, photo_from_sheet);
  }
  for (int k = 0; k < sheet::corners_per_sheet; ++k)
    seen.outside += !in_frame(grey, map(photo_from_sheet, sheet::corner(k)), 2);
  seen.dropped = gate_corners(fits, options);
  std::vector<double> blur;
  for (const CornerFit& f : fits) {
    seen.corners.push_back({f.corner, f.saddle.centre, std::hypot(f.saddle.sigma_px, picture_sigma_px)});
    blur.push_back(f.saddle.blur_px);
  }
  seen.blur_px = geometry::median(blur);
  seen.square_px = sheet::square * std::sqrt(std::abs(local_map(photo_from_sheet, Vec2::Zero()).determinant()));
  measure_tones(photo.bgr, photo_from_sheet, seen);
  return seen;
}

bool enough(const std::vector<MarkerSighting>& markers) {
  std::map<int, int> per_sheet;
  for (const MarkerSighting& m : markers) per_sheet[sheet::sheet_of_marker(m.id)]++;
  per_sheet.erase(0);
  return std::any_of(per_sheet.begin(), per_sheet.end(), [](const auto& s) { return s.second >= 8; });
}

}  // namespace

void check(const SightingOptions& o) {
  constexpr int plane = 4;  // corners tell a homography
  check_option("long side to look for markers in, px,", o.search_px, 100, 100000);
  check_option("least corners of a sheet", o.min_corners, plane, sheet::corners_per_sheet);
  check_option("gate of corners, px,", o.gate_px, 0.01, 100);
  check_option("least resolution, px/mm,", o.min_px_per_mm, 0, 1000);
  check_option("largest blur, px,", o.max_blur_px, 0, 1000);
  check_option("white that is over-exposed", o.over_exposed, 0, 256);
}

Sighting find_sheets(const Photo& photo, const SightingOptions& options) {
  check(options);
  require(!photo.bgr.empty() && photo.bgr.type() == CV_8UC3, "the photo has no pixels of three bytes");
  Sighting sighting{photo.name, photo.bgr.cols, photo.bgr.rows, photo.exif, {}, {}, {}};
  cv::Mat grey;
  cv::cvtColor(photo.bgr, grey, cv::COLOR_BGR2GRAY);
  std::vector<MarkerSighting> markers = detect_markers(grey, options.search_px);
  if (!enough(markers) && std::max(grey.cols, grey.rows) > options.search_px)
    markers = detect_markers(grey, 2 * options.search_px);
  for (int number = 1; number <= sheet::sheets_max; ++number) {
    const MarkerFit fit = fit_markers(number, markers);
    if (fit.markers < 2) continue;  // one stray marker is more likely a false reading than a sheet
    if (!fit.photo_from_sheet || fit.agreeing < 0.7) {
      sighting.faults.push_back(other_layout_fault(number, fit.markers, fit.agreeing));
      continue;
    }
    auto seen = see_sheet(photo, grey, number, *fit.photo_from_sheet, options);
    if (!seen) continue;
    add_sheet_faults(*seen, options, sighting.faults);
    if (static_cast<int>(seen->corners.size()) >= options.min_corners) sighting.sheets.push_back(std::move(*seen));
  }
  for (const MarkerSighting& m : markers) {
    if (const int tag = sheet::tag_of_marker(m.id)) sighting.tags.push_back({tag, m.corners});
  }
  add_photo_faults(sighting, options);
  for (Fault& f : sighting.faults) f.photo = photo.name;
  return sighting;
}

}  // namespace chalkfold::capture
