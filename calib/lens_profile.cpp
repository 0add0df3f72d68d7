// SPDX-License-Identifier: Apache-2.0
#include "calib/lens_profile.h"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <vector>

#include "pipeline/common/error.h"
#include "pipeline/common/nearest_name.h"
#include "pipeline/common/utf8.h"
#include "pipeline/common/version.h"

namespace chalkfold::calib {
namespace {

using Json = nlohmann::ordered_json;
constexpr const char* schema = "chalkfold-lens-1";
constexpr const char* remedy = "Make the profile again with chalkfold lens.";

/// A profile being read: every trouble names the file and the key.
class Reader {
 public:
  Reader(const Json& json, std::string where) : json_(json), where_(std::move(where)) {}

  [[noreturn]] void fail(const std::string& key, const std::string& expected) const {
    throw UsageError(fmt::format("{}: {}: expected {}. {}", where_, key, expected, remedy));
  }

  void only(const Json& object, const std::vector<std::string>& known, const std::string& prefix) const {
    for (const auto& [key, value] : object.items()) {
      if (std::find(known.begin(), known.end(), key) != known.end()) continue;
      const std::string nearest = nearest_name(key, known);
      throw UsageError(fmt::format("{}: {}{}: unknown key{}", where_, prefix, plain_text(key),
                                   nearest.empty() ? "" : "; did you mean " + nearest + "?"));
    }
  }

  const Json& at(const Json& object, const std::string& key, const std::string& prefix = {}) const {
    const auto found = object.find(key);
    if (found == object.end()) fail(prefix + key, "a value, but the key is missing");
    return *found;
  }

  double number(const Json& object, const std::string& key, double low, double high,
                const std::string& prefix = {}) const {
    const Json& value = at(object, key, prefix);
    if (!value.is_number() || !(value.get<double>() >= low) || !(value.get<double>() <= high))
      fail(prefix + key, fmt::format("a number from {:g} to {:g}", low, high));
    return value.get<double>();
  }

  int whole(const Json& object, const std::string& key, int low, int high, const std::string& prefix = {}) const {
    if (!at(object, key, prefix).is_number_integer()) fail(prefix + key, "a whole number");
    return static_cast<int>(number(object, key, low, high, prefix));
  }

  std::string text(const Json& object, const std::string& key, const std::string& prefix = {}) const {
    const Json& value = at(object, key, prefix);
    if (!value.is_string()) fail(prefix + key, "text");
    return value.get<std::string>();
  }

  const Json& root() const { return json_; }

 private:
  const Json& json_;
  std::string where_;
};

void read_phone(const Reader& file, LensProfile& profile) {
  const Json& phone = file.at(file.root(), "phone");
  if (!phone.is_object()) file.fail("phone", "an object");
  file.only(phone, {"make", "model", "focal_mm", "focal_35mm", "digital_zoom"}, "phone.");
  profile.make = file.text(phone, "make", "phone.");
  profile.model = file.text(phone, "model", "phone.");
  profile.focal_mm = file.number(phone, "focal_mm", 0, 1000, "phone.");
  profile.focal_35mm = file.number(phone, "focal_35mm", 0, 5000, "phone.");
  profile.digital_zoom = file.number(phone, "digital_zoom", 0, 1000, "phone.");
}

void read_lens(const Reader& file, Lens& lens) {
  const Json& json = file.at(file.root(), "lens");
  if (!json.is_object()) file.fail("lens", "an object");
  file.only(json, {"width", "height", "focal_px", "centre_x_px", "centre_y_px", "k1", "k2", "p1", "p2", "k3"}, "lens.");
  constexpr int most_px = 100000;
  constexpr double most_term = 10;  // of a distortion term: far beyond any phone's
  lens.width = file.whole(json, "width", 16, most_px, "lens.");
  lens.height = file.whole(json, "height", 16, most_px, "lens.");
  lens.focal_px = file.number(json, "focal_px", 1, 1e7, "lens.");
  lens.centre_x_px = file.number(json, "centre_x_px", 0, lens.width, "lens.");
  lens.centre_y_px = file.number(json, "centre_y_px", 0, lens.height, "lens.");
  lens.k1 = file.number(json, "k1", -most_term, most_term, "lens.");
  lens.k2 = file.number(json, "k2", -most_term, most_term, "lens.");
  lens.p1 = file.number(json, "p1", -most_term, most_term, "lens.");
  lens.p2 = file.number(json, "p2", -most_term, most_term, "lens.");
  lens.k3 = file.number(json, "k3", -most_term, most_term, "lens.");
}

void read_covariance(const Reader& file, LensProfile& profile) {
  constexpr int n = LensProfile::parameters;
  const Json& rows = file.at(file.root(), "covariance");
  const std::string expected = "8 rows of 8 numbers, symmetric, of a covariance";
  if (!rows.is_array() || rows.size() != n) file.fail("covariance", expected);
  for (int i = 0; i < n; ++i) {
    const Json& row = rows[static_cast<std::size_t>(i)];
    if (!row.is_array() || row.size() != n) file.fail("covariance", expected);
    for (int j = 0; j < n; ++j) {
      if (!row[static_cast<std::size_t>(j)].is_number()) file.fail("covariance", expected);
      profile.covariance(i, j) = row[static_cast<std::size_t>(j)].get<double>();
    }
  }
  const auto& c = profile.covariance;
  const bool symmetric = (c - c.transpose()).cwiseAbs().maxCoeff() <= 1e-9 * c.cwiseAbs().maxCoeff();
  if (!c.allFinite() || !symmetric || !(c.diagonal().minCoeff() > 0)) file.fail("covariance", expected);
  // Its numbers differ by many orders of magnitude: judged as correlations.
  const Eigen::VectorXd scale = c.diagonal().cwiseSqrt().cwiseInverse();
  const Eigen::MatrixXd correlation = scale.asDiagonal() * c * scale.asDiagonal();
  if (Eigen::LLT<Eigen::MatrixXd>(correlation).info() != Eigen::Success) file.fail("covariance", expected);
}

}  // namespace

Eigen::Matrix<double, LensProfile::parameters, 1> parameters_of(const Lens& l) {
  Eigen::Matrix<double, LensProfile::parameters, 1> p;
  p << l.focal_px, l.centre_x_px, l.centre_y_px, l.k1, l.k2, l.p1, l.p2, l.k3;
  return p;
}

double radial_distortion_px(const Lens& l, double ideal_radius) {
  const double r2 = ideal_radius * ideal_radius;
  return l.focal_px * ideal_radius * r2 * (l.k1 + r2 * (l.k2 + r2 * l.k3));
}

double corner_distortion_sigma_px(const LensProfile& profile) {
  const Lens& l = profile.lens;
  const double x = std::max(l.centre_x_px, l.width - 1 - l.centre_x_px),
               y = std::max(l.centre_y_px, l.height - 1 - l.centre_y_px);
  const double r = std::hypot(x, y) / l.focal_px, r3 = r * r * r, r5 = r3 * r * r, r7 = r5 * r * r;
  Eigen::Matrix<double, LensProfile::parameters, 1> by = Eigen::Matrix<double, LensProfile::parameters, 1>::Zero();
  by[3] = l.focal_px * r3;
  by[4] = l.focal_px * r5;
  by[7] = l.focal_px * r7;
  // Terms that all but cancel at the corner may leave a little less than nothing by rounding.
  return std::sqrt(std::max(0.0, by.dot(profile.covariance * by)));
}

std::string lens_profile_json(const LensProfile& profile) {
  const Lens& l = profile.lens;
  Json json = {{"schema", schema}, {"program", "chalkfold"}, {"version", program_version()}};
  json["phone"] = {{"make", plain_text(profile.make)},
                   {"model", plain_text(profile.model)},
                   {"focal_mm", profile.focal_mm},
                   {"focal_35mm", profile.focal_35mm},
                   {"digital_zoom", profile.digital_zoom}};
  json["lens"] = {{"width", l.width},
                  {"height", l.height},
                  {"focal_px", l.focal_px},
                  {"centre_x_px", l.centre_x_px},
                  {"centre_y_px", l.centre_y_px},
                  {"k1", l.k1},
                  {"k2", l.k2},
                  {"p1", l.p1},
                  {"p2", l.p2},
                  {"k3", l.k3}};
  json["covariance_of"] = {"focal_px", "centre_x_px", "centre_y_px", "k1", "k2", "p1", "p2", "k3"};
  json["covariance"] = Json::array();
  for (int i = 0; i < LensProfile::parameters; ++i) {
    Json row = Json::array();
    for (int j = 0; j < LensProfile::parameters; ++j) row.push_back(profile.covariance(i, j));
    json["covariance"].push_back(row);
  }
  json["photos"] = profile.photos;
  json["reprojection_rms_px"] = profile.reprojection_rms_px;
  return json.dump(2) + "\n";
}

LensProfile read_lens_profile(std::string_view bytes, const std::string& where) {
  const Json json = Json::parse(bytes, nullptr, false);
  if (!json.is_object() || json.value("schema", Json()) != schema)
    throw UsageError(fmt::format("{}: this is no lens profile of chalkfold ({}). {}", where, schema, remedy));
  const Reader file(json, where);
  file.only(
      json,
      {"schema", "program", "version", "phone", "lens", "covariance_of", "covariance", "photos", "reprojection_rms_px"},
      "");
  LensProfile profile;
  read_phone(file, profile);
  read_lens(file, profile.lens);
  read_covariance(file, profile);
  profile.photos = file.whole(json, "photos", 1, 1000000);
  profile.reprojection_rms_px = file.number(json, "reprojection_rms_px", 0, 1000);
  return profile;
}

}  // namespace chalkfold::calib
