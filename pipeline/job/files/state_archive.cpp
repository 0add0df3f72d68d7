// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/files/state_archive.h"

#include <cereal/archives/portable_binary.hpp>
#include <cereal/types/array.hpp>
#include <cereal/types/optional.hpp>
#include <cereal/types/string.hpp>
#include <cereal/types/utility.hpp>
#include <cereal/types/vector.hpp>
#include <sstream>

namespace Eigen {

/// Fixed-size matrices as their numbers.
template <class Archive, class Scalar, int Rows, int Columns, int Options, int MaxRows, int MaxColumns>
void serialize(Archive& archive, Matrix<Scalar, Rows, Columns, Options, MaxRows, MaxColumns>& m) {
  static_assert(Rows > 0 && Columns > 0);
  for (Index i = 0; i < m.size(); ++i) archive(m.data()[i]);
}

}  // namespace Eigen

// One function a type, found by cereal through its name. A member added to a type no longer fits the names here and does not compile.
// Each stands in the namespace of its type, where argument-dependent lookup finds it.

namespace chalkfold {

template <class A>
void serialize(A& a, Fault& f) {
  auto& [code, severity, seen, remedy, photo, panel] = f;
  a(code, severity, seen, remedy, photo, panel);
}

}  // namespace chalkfold

namespace chalkfold::capture {

template <class A>
void serialize(A& a, capture::PhotoExif& e) {
  auto& [make, model, focal_mm, focal_35mm, digital_zoom, orientation] = e;
  a(make, model, focal_mm, focal_35mm, digital_zoom, orientation);
}

template <class A>
void serialize(A& a, capture::CornerSighting& c) {
  auto& [corner, at_in_photo, sigma_px] = c;
  a(corner, at_in_photo, sigma_px);
}

template <class A>
void serialize(A& a, capture::SheetSighting& s) {
  auto& [number, corners, dropped, outside, blur_px, square_px, white, black, white_bgr] = s;
  a(number, corners, dropped, outside, blur_px, square_px, white, black, white_bgr);
}

template <class A>
void serialize(A& a, capture::TagSighting& t) {
  auto& [number, corners_in_photo] = t;
  a(number, corners_in_photo);
}

template <class A>
void serialize(A& a, capture::Sighting& s) {
  auto& [photo, width, height, exif, sheets, tags, faults] = s;
  a(photo, width, height, exif, sheets, tags, faults);
}

}  // namespace chalkfold::capture

namespace chalkfold::output {

template <class A>
void serialize(A& a, output::SheetRecord& s) {
  auto& [number, corners_used, corners_dropped, corners_outside, blur_px, square_px] = s;
  a(number, corners_used, corners_dropped, corners_outside, blur_px, square_px);
}

template <class A>
void serialize(A& a, output::CameraRecord& c) {
  auto& [lens, setup, corners_used, corners_dropped, reprojection_rms_px, tilt_deg, height, mm_per_px] = c;
  a(lens, setup, corners_used, corners_dropped, reprojection_rms_px, tilt_deg, height, mm_per_px);
}

template <class A>
void serialize(A& a, output::PhotoRecord& r) {
  auto& [name, sha256, make, model, focal_mm, focal_35mm, digital_zoom, orientation, width, height, intact, sheets,
         tags, camera, panels, faults] = r;
  a(name, sha256, make, model, focal_mm, focal_35mm, digital_zoom, orientation, width, height, intact, sheets, tags,
    camera, panels, faults);
}

}  // namespace chalkfold::output

namespace chalkfold::job {

template <class A>
void serialize(A& a, KeptReading& r) {
  auto& [record, sighting] = r;
  a(record, sighting);
}

}  // namespace chalkfold::job

namespace chalkfold::panel {

template <class A>
void serialize(A& a, panel::Contour& c) {
  auto& [points, sigma, U] = c;
  a(points, sigma, U);
}

template <class A>
void serialize(A& a, panel::MarkCrop& c) {
  auto& [low, high] = c;
  a(low, high);
}

template <class A>
void serialize(A& a, panel::MatchMark& m) {
  auto& [along, foot, tip, width, group, at_corner, sigma, confidence, colour, number] = m;
  a(along, foot, tip, width, group, at_corner, sigma, confidence, colour, number);
}

template <class A>
void serialize(A& a, panel::CentreLine& c) {
  auto& [from, to, straightness, sigma, sigma_angle, confidence, colour] = c;
  a(from, to, straightness, sigma, sigma_angle, confidence, colour);
}

template <class A>
void serialize(A& a, panel::GrainLine& g) {
  auto& [tail, head, directed, sigma, sigma_angle, confidence, colour] = g;
  a(tail, head, directed, sigma, sigma_angle, confidence, colour);
}

template <class A>
void serialize(A& a, panel::Writing& w) {
  auto& [box, underside, up, confidence, colour] = w;
  a(box, underside, up, confidence, colour);
}

template <class A>
void serialize(A& a, panel::Notch& n) {
  auto& [shape, along, foot, tip, depth, width, first, last, sigma, confidence] = n;
  a(shape, along, foot, tip, depth, width, first, last, sigma, confidence);
}

template <class A>
void serialize(A& a, panel::DrillHole& h) {
  auto& [centre, diameter, sigma, confidence] = h;
  a(centre, diameter, sigma, confidence);
}

template <class A>
void serialize(A& a, panel::NeedleRow& r) {
  auto& [points, pitch, found_share, allowance, allowance_spread, sigma, confidence] = r;
  a(points, pitch, found_share, allowance, allowance_spread, sigma, confidence);
}

template <class A>
void serialize(A& a, panel::Marks& m) {
  auto& [matches, centre, grain, writings, notches, holes, needle_rows] = m;
  a(matches, centre, grain, writings, notches, holes, needle_rows);
}

template <class A>
void serialize(A& a, panel::Flaw& f) {
  auto& [ring, width, gap, U, confidence, colour] = f;
  a(ring, width, gap, U, confidence, colour);
}

template <class A>
void serialize(A& a, panel::Panel& p) {
  auto& [name, photo, tag, thickness, outline, cutouts, marks, kind, face_up, flaws, area, perimeter, extent,
         edge_sigma, U_median, U_max, px_per_mm, faults] = p;
  a(name, photo, tag, thickness, outline, cutouts, marks, kind, face_up, flaws, area, perimeter, extent, edge_sigma,
    U_median, U_max, px_per_mm, faults);
}

}  // namespace chalkfold::panel

namespace chalkfold::trace {

template <class A>
void serialize(A& a, trace::PanelPart& p) {
  auto& [panel, seen, alone] = p;
  a(panel, seen, alone);
}

template <class A>
void serialize(A& a, trace::TraceResult& t) {
  auto& [panels, parts, faults] = t;
  a(panels, parts, faults);
}

}  // namespace chalkfold::trace

namespace chalkfold::output {

template <class A>
void serialize(A& a, output::CropRecord& c) {
  auto& [of, index, picture] = c;
  a(of, index, picture);
}

template <class A>
void serialize(A& a, output::PanelRecord& r) {
  // What a panel changed against a reference is found out later, in every run.
  [[maybe_unused]] auto& [panel, thickness_sigma, files, picture, crops, photos, change, change_picture] = r;
  a(panel, thickness_sigma, files, picture, crops, photos);
}

}  // namespace chalkfold::output

namespace chalkfold::job {

template <class A>
void serialize(A& a, KeptFile& f) {
  auto& [place, sha256] = f;
  a(place, sha256);
}

template <class A>
void serialize(A& a, KeptPictures& p) {
  auto& [files, picture, crops] = p;
  a(files, picture, crops);
}

template <class A>
void serialize(A& a, KeptJoin& j) {
  auto& [record, single, faults, tasks, pictures] = j;
  a(record, single, faults, tasks, pictures);
}

}  // namespace chalkfold::job

namespace chalkfold::calib {

template <class A>
void serialize(A& a, calib::Lens& l) {
  auto& [width, height, focal_px, centre_x_px, centre_y_px, k1, k2, p1, p2, k3] = l;
  a(width, height, focal_px, centre_x_px, centre_y_px, k1, k2, p1, p2, k3);
}

template <class A>
void serialize(A& a, calib::Pose& p) {
  auto& [rotation, translation] = p;
  a(rotation, translation);
}

}  // namespace chalkfold::calib

namespace chalkfold::survey {

template <class A>
void serialize(A& a, survey::SheetPlace& s) {
  auto& [number, centre, theta] = s;
  a(number, centre, theta);
}

template <class A>
void serialize(A& a, survey::TableView::Solution& s) {
  auto& [photo, width, height, quarter_turns, lens, pose, sheets, print_scale_x, print_scale_y, covariance,
         reprojection_rms_px, corners_used, corners_dropped] = s;
  a(photo, width, height, quarter_turns, lens, pose, sheets, print_scale_x, print_scale_y, covariance,
    reprojection_rms_px, corners_used, corners_dropped);
}

}  // namespace chalkfold::survey

namespace chalkfold::job {
namespace {

template <class T>
std::string to_bytes(const T& value) {
  std::ostringstream stream(std::ios::binary);
  {
    cereal::PortableBinaryOutputArchive archive(stream);
    archive(value);
  }
  return stream.str();
}

template <class T>
T from_bytes(const std::string& bytes) {
  std::istringstream stream(bytes, std::ios::binary);
  cereal::PortableBinaryInputArchive archive(stream);
  T value;
  archive(value);
  return value;
}

}  // namespace

std::string bytes_of(const KeptReading& reading) { return to_bytes(reading); }
std::string bytes_of(const trace::TraceResult& traced) { return to_bytes(traced); }
std::string bytes_of(const KeptPictures& pictures) { return to_bytes(pictures); }
std::string bytes_of(const KeptJoin& joined) { return to_bytes(joined); }
std::string bytes_of(const survey::TableView::Solution& solution) { return to_bytes(solution); }

KeptReading reading_from(const std::string& bytes) { return from_bytes<KeptReading>(bytes); }
trace::TraceResult traced_from(const std::string& bytes) { return from_bytes<trace::TraceResult>(bytes); }
KeptPictures pictures_from(const std::string& bytes) { return from_bytes<KeptPictures>(bytes); }
KeptJoin joined_from(const std::string& bytes) { return from_bytes<KeptJoin>(bytes); }

}  // namespace chalkfold::job
