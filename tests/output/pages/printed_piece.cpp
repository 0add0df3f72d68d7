// SPDX-License-Identifier: Apache-2.0
#include "tests/output/pages/printed_piece.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgcodecs.hpp>
#include <sstream>

#include "tests/common/run_program.h"

namespace chalkfold::test {

namespace {
constexpr double dark = 100;  // of 255: half-tone guide lines do not count as ink

std::string output_of(const std::vector<std::string>& words) {
  const ProgramRun run = run_program(words);
  if (run.exit != 0) throw std::runtime_error("failed: " + words[0] + ": " + run.err);
  return run.out;
}
}  // namespace

double PaperPage::ink(const Vec2& at) const {
  const double x = at.x() * px_per_mm - 0.5, y = at.y() * px_per_mm - 0.5;  // (0, 0) is a pixel's middle
  const int i = static_cast<int>(std::floor(x)), k = static_cast<int>(std::floor(y));
  const auto paper = [&](int column, int row) {
    if (column < 0 || row < 0 || column >= grey.cols || row >= grey.rows) return 255.0;
    return static_cast<double>(grey.at<unsigned char>(row, column));
  };
  const double u = x - i, v = y - k;
  const double light = (1 - v) * ((1 - u) * paper(i, k) + u * paper(i + 1, k)) +
                       v * ((1 - u) * paper(i, k + 1) + u * paper(i + 1, k + 1));
  return 255 - light;
}

std::vector<double> PaperPage::strokes_across(const Vec2& from, const Vec2& to) const {
  constexpr double step = 0.02;  // mm
  const Vec2 way = (to - from).normalized();
  const double length = (to - from).norm(), start = way.dot(from);
  std::vector<double> middles;
  double weight = 0, moment = 0;
  for (double at = 0; at <= length + step; at += step) {
    const double here = at <= length ? ink(from + at * way) : 0;
    if (here > 255 - dark) {
      weight += here;
      moment += here * (start + at);
    } else if (weight > 0) {
      middles.push_back(moment / weight);
      weight = moment = 0;
    }
  }
  return middles;
}

std::vector<PaperPage> printed_piece(const std::string& pdf, int dpi) {
  const TemporaryFolder folder;
  write_whole(folder / "piece.pdf", pdf);
  const std::string file = (folder / "piece.pdf").string();
  output_of({"pdftoppm", "-gray", "-r", std::to_string(dpi), file, (folder / "page").string()});
  std::vector<std::string> pictures;
  for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
    if (entry.path().extension() == ".pgm") pictures.push_back(entry.path().string());
  }
  std::sort(pictures.begin(), pictures.end());
  std::vector<PaperPage> pages;
  for (const std::string& picture : pictures) {
    const std::string number = std::to_string(pages.size() + 1);
    pages.push_back({cv::imread(picture, cv::IMREAD_GRAYSCALE), dpi / 25.4,
                     output_of({"pdftotext", "-layout", "-f", number, "-l", number, file, "-"})});
  }
  return pages;
}

std::vector<std::string> page_sizes(const std::string& pdf) {
  const TemporaryFolder folder;
  write_whole(folder / "piece.pdf", pdf);
  std::istringstream lines(output_of({"pdfinfo", "-f", "1", "-l", "1000", (folder / "piece.pdf").string()}));
  std::vector<std::string> sizes;
  for (std::string line; std::getline(lines, line);) {
    const std::size_t at = line.find(" size:");
    if (at == std::string::npos || line.rfind("Page ", 0) != 0) continue;
    const std::size_t first = line.find_first_not_of(' ', at + 6);
    sizes.push_back(line.substr(first, line.find(" pts") - first));
  }
  return sizes;
}

}  // namespace chalkfold::test
