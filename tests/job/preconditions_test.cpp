// SPDX-License-Identifier: Apache-2.0
// What public functions above geometry refuse, and that they say where.
#include <gtest/gtest.h>

#include <functional>
#include <string>
#include <vector>

#include "calib/marker_bits.h"
#include "calib/sheet_layout.h"
#include "pipeline/common/require.h"
#include "pipeline/draft/change/compared_shape.h"
#include "pipeline/draft/change/compensated_piece.h"
#include "pipeline/draft/layout/roll_layout.h"
#include "pipeline/draft/piece/draft_piece.h"
#include "pipeline/draft/piece/nicks.h"
#include "pipeline/draft/piece/sew_contour.h"
#include "pipeline/draft/set/put_back.h"
#include "pipeline/draft/set/set_bodies.h"
#include "pipeline/draft/sewing/thread.h"
#include "pipeline/output/drawing/drawing.h"
#include "pipeline/output/pages/piece_pdf.h"
#include "pipeline/output/pictures/pictures.h"
#include "pipeline/output/words/sewing_words.h"
#include "pipeline/panel/panel.h"
#include "pipeline/survey/bundle.h"
#include "pipeline/survey/joint_shape.h"
#include "pipeline/survey/survey.h"
#include "pipeline/trace/join_panel.h"
#include "tests/output/sized_flag.h"

namespace chalkfold {
namespace {

struct Case {
  std::string told, where;
  std::function<void()> call;
};

void expect_refused(const std::vector<Case>& cases) {
  for (const Case& c : cases) {
    try {
      c.call();
      ADD_FAILURE() << "passed: " << c.told;
    } catch (const PreconditionError& e) {
      const std::string what = e.what();
      EXPECT_NE(what.find(c.told), std::string::npos) << what << " does not say " << c.told;
      EXPECT_TRUE(what.starts_with(c.where)) << what << " does not say where";
    }
  }
}

/// A square of 100 mm with sigma and U.
panel::Panel square_panel() {
  panel::Panel panel;
  for (int i = 0; i < 10; ++i) panel.outline.points.emplace_back(10 * i, 0);
  for (int i = 0; i < 10; ++i) panel.outline.points.emplace_back(100, 10 * i);
  for (int i = 0; i < 10; ++i) panel.outline.points.emplace_back(100 - 10 * i, 100);
  for (int i = 0; i < 10; ++i) panel.outline.points.emplace_back(0, 100 - 10 * i);
  panel.outline.sigma.assign(40, 0.1);
  panel.outline.U.assign(40, 0.2);
  return panel;
}

panel::Panel with_notch(std::size_t first, std::size_t last) {
  panel::Panel panel = square_panel();
  panel::Notch notch;
  notch.first = first;
  notch.last = last;
  panel.marks.notches = {notch};
  return panel;
}

panel::Contour without_sigma() {
  panel::Contour contour = square_panel().outline;
  contour.sigma.pop_back();
  return contour;
}

TEST(Preconditions, OfSheets) {
  expect_refused({{"corner of a sheet is 24, 0 to 23", "calib/sheet_layout.cpp:", [] { sheet::corner(24); }},
                  {"corner of a sheet is -1, 0 to 23", "calib/sheet_layout.cpp:", [] { sheet::corner(-1); }},
                  {"marker of a sheet is 17, 0 to 16", "calib/sheet_layout.cpp:", [] { sheet::marker_corners(17); }},
                  {"column of the marker's cell is 7, 0 to 6",
                   "calib/marker_bits.cpp:", [] { calib::is_marker_cell_black(0, 7, 0); }}});
}

TEST(Preconditions, OfSurveys) {
  const std::vector<capture::Sighting> one(1);
  survey::SurveyOptions options;
  options.said.resize(2);
  survey::Survey nothing;
  nothing.joint_of_sighting = {-1};
  expect_refused(
      {{"said of photos is 2, 1 needed", "pipeline/survey/survey.cpp:", [&] { survey::solve_survey(one, options); }},
       {"sighting is 3, less than 1",
        "pipeline/survey/survey.cpp:", [&] { survey::joint_covariance(nothing, std::vector<std::size_t>{3}); }},
       {"first of a sighting's rows is -1, 0 to",
        "pipeline/survey/survey.cpp:", [&] { survey::joint_covariance(nothing, std::vector<std::size_t>{0}); }},
       {"rows of the joint covariance is 14, 0 needed", "pipeline/survey/joint_shape.cpp:",
        [] {
          survey::joint_shape({}, Eigen::MatrixXd::Zero(14, 14), {{0, 0}}, {{1, 0}}, 0, 0);
        }},
       {"no view", "pipeline/survey/joint_shape.cpp:",
        [] {
          survey::joint_shape({{}}, Eigen::MatrixXd::Zero(14, 14), {{0, 0}}, {{1, 0}}, 0, 0);
        }},
       {"photo is 0, less than 0", "pipeline/survey/bundle.cpp:", [] { survey::effective_lens({}, 0, 10, 10); }},
       {"points on the plane is 3, at least 4", "pipeline/survey/bundle.cpp:",
        [] {
          survey::pose_from_plane({{0, 0}, {1, 0}, {0, 1}}, {{0, 0}, {1, 0}, {0, 1}});
        }},
       {"spread of the points is 0, more than 0", "pipeline/survey/bundle.cpp:", [] {
          survey::pose_from_plane({{1, 1}, {1, 1}, {1, 1}, {1, 1}}, {{0, 0}, {1, 0}, {0, 1}, {1, 1}});
        }}});
}

// Before it was checked a notch beyond the outline's last point was looked for for ever.
TEST(Preconditions, OfPanels) {
  expect_refused({{"first point of a notch is 40, less than 40",
                   "pipeline/panel/panel.cpp:", [] { panel::outline_across_notches(with_notch(40, 3)); }},
                  {"last point of a notch is 41, less than 40",
                   "pipeline/panel/panel.cpp:", [] { panel::outline_across_notches(with_notch(3, 41)); }},
                  {"sigmas of the outline is 39, 40 needed", "pipeline/panel/panel.cpp:",
                   [] {
                     panel::Panel panel;
                     panel.outline = without_sigma();
                     panel::outline_across_notches(panel);
                   }},
                  {"U of the contour is 0, 40 needed", "pipeline/panel/panel.cpp:",
                   [] {
                     panel::Panel panel = square_panel();
                     panel.outline.U.clear();
                     panel::usable_area_U(panel);
                   }},
                  {"sights of the panel is 1, at least 2",
                   "pipeline/trace/join_panel.cpp:", [] { trace::join_panel({{}}, {}, {}); }},
                  {"a sight has no panel or no view", "pipeline/trace/join_panel.cpp:", [] {
                     trace::join_panel({{}, {}}, {}, {});
                   }}});
}

TEST(Preconditions, OfPieces) {
  std::vector<draft::Nick> nicks;
  expect_refused(
      {{"points of the panel's outline is 0, at least 8",
        "pipeline/draft/piece/draft_piece.cpp:", [] { draft::draft_piece({}, {}); }},
       {"sigmas of the contour is 39, 40 needed",
        "pipeline/draft/piece/outline_edges.cpp:", [] { draft::fit_edges(without_sigma(), {}); }},
       {"points of the contour is 0, at least 3",
        "pipeline/draft/piece/outline_edges.cpp:", [] { draft::fit_path_edges({}, {}); }},
       {"segments of the first curve is 0, at least 1", "pipeline/draft/piece/outline_edges.cpp:",
        [] {
          draft::meeting_point({}, {test::line_of({0, 0}, {1, 0})}, 1);
        }},
       {"points of the contour is 0, at least 8",
        "pipeline/draft/piece/symmetry.cpp:", [] { draft::symmetrise({}, {}, {}, {}, {}); }},
       {"sigmas of the contour is 39, 40 needed",
        "pipeline/draft/piece/nicks.cpp:", [&] { draft::across_nicks(without_sigma(), nicks); }},
       {"needle rows is 0, at least 1",
        "pipeline/draft/piece/sew_contour.cpp:", [] { draft::sew_contour(square_panel().outline, {}); }},
       {"holes of a needle row is 0, at least 1",
        "pipeline/draft/piece/sew_contour.cpp:", [] { draft::sew_contour(square_panel().outline, {{}}); }},
       {"points of the line is 2, at least 3", "pipeline/draft/change/compared_shape.cpp:",
        [] {
          draft::compared_line({{0, 0}, {1, 0}}, "", "");
        }},
       {"change along the grain, per cent, is -100, more than -50", "pipeline/draft/change/compensated_piece.cpp:", [] {
          draft::compensated_piece(test::sized_flag(), {-100, 0, Vec2::UnitX()});
        }}});
}

TEST(Preconditions, OfSetsAndLayouts) {
  const std::vector<draft::Piece> one = {test::sized_flag()};
  draft::AdjustedSet set;
  set.pieces = one;
  std::vector<draft::Piece> plain = one;
  plain[0].axis.reset();
  draft::SeamReport strange;
  strange.asked.a.piece = "no such piece";
  expect_refused(
      {{"stitch is 0, more than 0", "pipeline/draft/sewing/thread.cpp:", [] { draft::thread_per_length(0, 1); }},
       {"thickness is -1, at least 0", "pipeline/draft/sewing/thread.cpp:", [] { draft::thread_per_length(4, -1); }},
       {"piece is 1, less than 1", "pipeline/draft/set/put_back.cpp:", [&] { put_back(set, one, 1, {}, {}); }},
       {"drafted pieces is 0, 1 needed", "pipeline/draft/set/put_back.cpp:", [&] { put_back(set, {}, 0, {}, {}); }},
       {"not among the pieces", "pipeline/draft/set/set_bodies.cpp:",
        [&] { draft::intervals_of(strange, plain, draft::bodies_of(plain, 60)); }},
       {"edges of the piece is 0, at least 1",
        "pipeline/draft/set/shape_field.cpp:", [] { draft::ShapeField(draft::Piece{}, 60); }},
       {"spacing, mm, is 0, more than 0", "pipeline/draft/set/shape_field.cpp:", [&] { draft::ShapeField(one[0], 0); }},
       {"points of a piece's outline is 0, at least 3", "pipeline/draft/layout/roll_layout.cpp:",
        [] {
          draft::roll_layout({{{}, {0}}});
        }},
       {"turns of a piece is 0, at least 1", "pipeline/draft/layout/roll_layout.cpp:",
        [] {
          draft::roll_layout({{{{0, 0}, {10, 0}, {0, 10}}, {}}});
        }},
       {"places of the layout is 0, 1 needed", "pipeline/draft/layout/roll_layout.cpp:", [] {
          draft::layout_faults({{{{0, 0}, {10, 0}, {0, 10}}, {0}}}, {}, {});
        }}});
}

TEST(Preconditions, OfOutput) {
  expect_refused(
      {{"points of the outline of seat is 0, at least 3", "pipeline/output/drawing/drawing.cpp:",
        [] {
          panel::Panel panel;
          panel.name = "seat";
          output::panel_origin(panel);
        }},
       {"points of the cut line is 0, at least 3",
        "pipeline/output/pages/piece_pdf.cpp:", [] { output::piece_pdf(draft::Piece{}); }},
       {"width of the frame, px, is 0, at least 1",
        "pipeline/output/pictures/pictures.cpp:", [] { output::rectified(cv::Mat(4, 4, CV_8UC3), {}, {}, 8); }},
       {"the results have no sewing sheet", "pipeline/output/words/sewing_words.cpp:", [] { output::step_words({}); }},
       {"the results have no sewing sheet",
        "pipeline/output/words/sewing_words.cpp:", [] { output::sheet_words({}); }}});
}

}  // namespace
}  // namespace chalkfold
