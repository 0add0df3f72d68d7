// SPDX-License-Identifier: Apache-2.0
#include "tests/calib/printed.h"

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <opencv2/aruco.hpp>
#include <opencv2/imgcodecs.hpp>
#include <stdexcept>

namespace chalkfold::calib {

namespace {
namespace fs = std::filesystem;

/// A folder of its own, removed at the end.
struct Folder {
  fs::path path;
  Folder() : path(fs::path(testing::TempDir()) / fmt::format("chalkfold_printed_{}", ::getpid())) {
    fs::create_directories(path);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() { fs::remove_all(path); }
};

void run(const std::string& command) {
  if (std::system(command.c_str()) != 0) throw std::runtime_error("failed: " + command);
}
}  // namespace

bool can_print() { return std::system("command -v pdftoppm pdftotext >/dev/null 2>&1") == 0; }

std::vector<PrintedPage> print(const SheetPagesOptions& options, int first, int last, int dpi) {
  const Folder folder;
  write_sheet_pages(folder.path / "sheets.pdf", options);
  run(fmt::format("cd '{}' && pdftoppm -gray -r {} -f {} -l {} sheets.pdf page", folder.path.string(), dpi, first,
                  last));
  std::map<std::string, fs::path> in_order;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder.path)) {
    if (entry.path().extension() == ".pgm") in_order[entry.path().filename().string()] = entry.path();
  }
  std::vector<PrintedPage> pages;
  for (const auto& [name, path] : in_order)
    pages.push_back({cv::imread(path.string(), cv::IMREAD_GRAYSCALE), dpi * 1.0});
  if (pages.size() != static_cast<std::size_t>(last - first + 1))
    throw std::runtime_error("pdftoppm drew too few pages");
  return pages;
}

std::string words_on_page(const SheetPagesOptions& options, int page) {
  const Folder folder;
  write_sheet_pages(folder.path / "sheets.pdf", options);
  run(fmt::format("cd '{0}' && pdftotext -f {1} -l {1} sheets.pdf words", folder.path.string(), page));
  std::ifstream in(folder.path / "words");
  return {std::istreambuf_iterator<char>(in), {}};
}

std::map<int, std::vector<cv::Point2f>> markers_on(const PrintedPage& page) {
  std::vector<std::vector<cv::Point2f>> corners;
  std::vector<int> ids;
  cv::aruco::detectMarkers(page.grey, cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000), corners, ids);
  std::map<int, std::vector<cv::Point2f>> found;
  for (std::size_t i = 0; i < ids.size(); ++i) {
    if (!found.emplace(ids[i], corners[i]).second)
      throw std::runtime_error(fmt::format("marker {} twice on a page", ids[i]));
  }
  return found;
}

std::vector<double> crossings_of_half(const cv::Mat& line) {
  constexpr double half = 127.5;
  std::vector<double> at;
  const auto grey = [&](int i) {
    return static_cast<double>(line.at<unsigned char>(line.rows == 1 ? cv::Point(i, 0) : cv::Point(0, i)));
  };
  for (int i = 1; i < static_cast<int>(line.total()); ++i) {
    const double before = grey(i - 1), after = grey(i);
    if ((before < half) != (after < half)) at.push_back(i - 1 + (half - before) / (after - before));
  }
  return at;
}

}  // namespace chalkfold::calib
