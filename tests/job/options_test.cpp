// SPDX-License-Identifier: Apache-2.0
// check() of every options struct above geometry: the default one passes, one bad value of each kind is refused by its name.
#include <gtest/gtest.h>

#include <limits>

#include "pipeline/capture/sighting.h"
#include "pipeline/draft/change/dimensional_change.h"
#include "pipeline/draft/layout/material.h"
#include "pipeline/draft/piece/nicks.h"
#include "pipeline/draft/set/adjust_options.h"
#include "pipeline/draft/set/seam_proposals.h"
#include "pipeline/draft/sewing/sewing_order.h"
#include "pipeline/job/lens_job.h"
#include "pipeline/job/plan/run_options.h"
#include "pipeline/output/drawing/cutter_dxf.h"
#include "pipeline/output/drawing/set_drawing.h"
#include "pipeline/output/drawing/svg.h"
#include "pipeline/output/pages/pdf_layout.h"
#include "pipeline/output/pictures/picture_frame.h"
#include "tests/common/option_cases.h"

namespace chalkfold::job {
namespace {

using test::expect_checked;
constexpr double none = std::numeric_limits<double>::quiet_NaN();

TEST(Options, OfCapture) {
  using Load = capture::LoadOptions;
  expect_checked<Load>({{"least size of a photo, Mpx, is -1;", [](Load& o) { o.min_megapixels = -1; }},
                        {"largest size of a photo, Mpx, is -1;", [](Load& o) { o.max_megapixels = -1; }},
                        {"least share of a photo's rows is 1.5;", [](Load& o) { o.min_intact = 1.5; }}});
  using Sight = capture::SightingOptions;
  expect_checked<Sight>({{"long side to look for markers in, px, is 0;", [](Sight& o) { o.search_px = 0; }},
                         {"least corners of a sheet is 25; it must be 4 to 24", [](Sight& o) { o.min_corners = 25; }},
                         {"gate of corners, px, is 0;", [](Sight& o) { o.gate_px = 0; }},
                         {"least resolution, px/mm, is -1;", [](Sight& o) { o.min_px_per_mm = -1; }},
                         {"largest blur, px, is nan", [](Sight& o) { o.max_blur_px = none; }},
                         {"white that is over-exposed is 300;", [](Sight& o) { o.over_exposed = 300; }}});
}

TEST(Options, OfSurvey) {
  using O = survey::SurveyOptions;
  expect_checked<survey::PrintCheck>(
      {{"sigma of the check bars, mm, is 0;", [](survey::PrintCheck& o) { o.sigma_mm = 0; }}});
  expect_checked<O>(
      {{"long check bar, mm, is 24;", [](O& o) { o.print.long_bar_mm = 24; }},
       {"short check bar, mm, is 300;", [](O& o) { o.print.short_bar_mm = 300; }},
       {"unmeasured print scale, as a share, is -1;", [](O& o) { o.print.unmeasured_scale_sigma = -1; }},
       {"unmeasured print ratio, as a share, is -1;", [](O& o) { o.print.unmeasured_ratio_sigma = -1; }},
       {"sigma of the focal length, as a share, is -1;", [](O& o) { o.lens.focal_sigma = -1; }},
       {"unknown focal length, as a share, is -1;", [](O& o) { o.lens.focal_unknown_sigma = -1; }},
       {"sigma of the lens's centre, as a share, is -1;", [](O& o) { o.lens.centre_sigma = -1; }},
       {"distortion half-way, as a share, is -1;", [](O& o) { o.lens.distortion_mid_sigma = -1; }},
       {"distortion at the corner, as a share, is -1;", [](O& o) { o.lens.distortion_corner_sigma = -1; }},
       {"one term of the distortion, as a share, is -1;", [](O& o) { o.lens.distortion_term_sigma = -1; }},
       {"tangential distortion is -1;", [](O& o) { o.lens.tangential_sigma = -1; }},
       {"sigma of the breathing, as a share, is nan", [](O& o) { o.lens.breathing_sigma = none; }},
       {"sigma of the stabiliser, px, is -1;", [](O& o) { o.lens.stabiliser_sigma_px = -1; }},
       {"profile's focal length, as a share, is -1;", [](O& o) { o.lens.profile_focal_sigma = -1; }},
       {"profile's centre, px, is -1;", [](O& o) { o.lens.profile_centre_sigma_px = -1; }},
       {"profile at the corner, as a share, is -1;", [](O& o) { o.lens.profile_corner_sigma = -1; }},
       {"tape's first sheet is 0;",
        [](O& o) {
          o.tape = {{0, 2, 500}};
        }},
       {"tape's second sheet is 21;",
        [](O& o) {
          o.tape = {{1, 21, 500}};
        }},
       {"tape's sheets are 3 and 3;",
        [](O& o) {
          o.tape = {{3, 3, 500}};
        }},
       {"tape's distance, mm, is 5;",
        [](O& o) {
          o.tape = {{1, 2, 5}};
        }},
       {"tape's sigma, mm, is 0;",
        [](O& o) {
          o.tape = {{1, 2, 500, 0}};
        }},
       {"least sigma of corners, px, is -1;", [](O& o) { o.corner_sigma_floor_px = -1; }},
       {"width of the robust loss, sigmas, is -1;", [](O& o) { o.robust_sigmas = -1; }},
       {"corners given up beyond, sigmas, is 0;", [](O& o) { o.drop_sigmas = 0; }},
       {"strong tilt, degrees, is 120;", [](O& o) { o.strong_tilt_deg = 120; }}});
}

TEST(Options, OfTrace) {
  using O = trace::TraceOptions;
  expect_checked<O>({{"thickness of the panel, mm, is -1;", [](O& o) { o.thickness = -1; }},
                     {"thickness of the paper, mm, is -1;", [](O& o) { o.paper_thickness = -1; }},
                     {"sigma of the thickness, mm, is 50;", [](O& o) { o.thickness_sigma = 50; }},
                     {"narrowest panel, mm, is 0;", [](O& o) { o.min_width = 0; }},
                     {"smallest panel, mm2, is -1;", [](O& o) { o.min_area = -1; }},
                     {"narrowest cut-out, mm, is -1;", [](O& o) { o.min_cutout_width = -1; }},
                     {"pitch of the coarse picture, mm/px, is 0;", [](O& o) { o.coarse_mm_per_px = 0; }}});
}

TEST(Options, OfPieces) {
  using Edge = draft::EdgeOptions;
  expect_checked<Edge>({{"arm of corners, mm, is 0;", [](Edge& o) { o.corners.arm = 0; }},
                        {"tolerance, mm, is 0;", [](Edge& o) { o.tolerance = 0; }},
                        {"blunt corners, mm, is -1;", [](Edge& o) { o.blunt = -1; }}});
  using Nick = draft::NickOptions;
  expect_checked<Nick>({{"widest nick, mm, is 0;", [](Nick& o) { o.widest = 0; }},
                        {"turn across a nick, rad, is -1;", [](Nick& o) { o.same_way = -1; }},
                        {"step across a nick, mm, is -1;", [](Nick& o) { o.same_line = -1; }},
                        {"least depth of a nick, mm, is 0;", [](Nick& o) { o.least_depth = 0; }},
                        {"most depth of a nick, mm, is 1; it must be 2 to", [](Nick& o) { o.most_depth = 1; }}});
  using Symmetry = draft::SymmetryOptions;
  expect_checked<Symmetry>({{"chalked centre line, mm, is -1;", [](Symmetry& o) { o.chalk_sigma = -1; }},
                            {"line's direction, rad, is 2;", [](Symmetry& o) { o.chalk_sigma_angle = 2; }}});
  using O = draft::DraftOptions;
  expect_checked<O>({{"chalked centre line, mm, is -1;", [](O& o) { o.symmetry.chalk_sigma = -1; }},
                     {"tolerance, mm, is 6;", [](O& o) { o.edges.tolerance = 6; }},
                     {"quantity is 0;", [](O& o) { o.quantity = 0; }},
                     {"allowance, mm, is 101;", [](O& o) { o.allowance = 101; }},
                     {"existing allowance, mm, is -1;", [](O& o) { o.existing_allowance = -1; }},
                     {"allowance of an edge, mm, is -1;", [](O& o) { o.edge_allowances[2] = -1; }},
                     {"direction of the grain, degrees, is 361;", [](O& o) { o.grain_deg = 361; }},
                     {"mitre limit is 0;", [](O& o) { o.mitre_limit = 0; }},
                     {"notch depth, mm, is 0;", [](O& o) { o.notch_depth = 0; }}});
}

TEST(Options, OfSetsAndSewing) {
  using Seam = draft::SeamOptions;
  expect_checked<Seam>({{"tolerance of seams, mm, is 0;", [](Seam& o) { o.tolerance = 0; }},
                        {"tolerance of seams as a share is 1;", [](Seam& o) { o.tolerance_share = 1; }},
                        {"tolerance between marks, mm, is 0;", [](Seam& o) { o.mark_tolerance = 0; }},
                        {"sigma of marks, mm, is 0;", [](Seam& o) { o.mark_sigma = 0; }},
                        {"sigma of the scale is -1;", [](Seam& o) { o.scale_sigma = -1; }}});
  using Adjust = draft::AdjustOptions;
  expect_checked<Adjust>({{"tolerance of seams, mm, is 0;", [](Adjust& o) { o.seam.tolerance = 0; }},
                          {"wear, as a share, is 0;", [](Adjust& o) { o.wear = 0; }},
                          {"wear of a piece, as a share, is 1;", [](Adjust& o) { o.piece_wear["a"] = 1; }},
                          {"growth is 0;", [](Adjust& o) { o.growth = 0; }},
                          {"local share of the wear is 0;", [](Adjust& o) { o.local = 0; }},
                          {"sigma of corners, rad, is 0;", [](Adjust& o) { o.corner_sigma = 0; }},
                          {"spacing of control points, mm, is 0;", [](Adjust& o) { o.spacing = 0; }},
                          {"move limit, mm, is 0;", [](Adjust& o) { o.move_limit = 0; }},
                          {"most wear is 0;", [](Adjust& o) { o.most_wear = 0; }},
                          {"mitre limit is 0;", [](Adjust& o) { o.mitre_limit = 0; }}});
  using Proposal = draft::ProposalOptions;
  expect_checked<Proposal>({{"tolerance of seams, mm, is 0;", [](Proposal& o) { o.seam.tolerance = 0; }},
                            {"wear of proposed seams, as a share, is 0;", [](Proposal& o) { o.wear = 0; }},
                            {"sigma of marks drawn by hand, mm, is 0;", [](Proposal& o) { o.hand = 0; }},
                            {"turn of proposed seams, rad, is 0;", [](Proposal& o) { o.turn = 0; }},
                            {"least length of proposed seams, mm, is -1;", [](Proposal& o) { o.least_length = -1; }},
                            {"least confidence of proposed seams is 2;", [](Proposal& o) { o.least_confidence = 2; }},
                            {"most candidates for an edge is 0;", [](Proposal& o) { o.most = 0; }},
                            {"edges in a row of a proposed seam is 0;", [](Proposal& o) { o.longest_run = 0; }}});
  using Stitch = draft::StitchOptions;
  expect_checked<Stitch>({{"stitch length, mm, is 0;", [](Stitch& o) { o.stitch = 0; }},
                          {"thread waste is -1;", [](Stitch& o) { o.waste = -1; }},
                          {"thickness at the seam, mm, is 51;", [](Stitch& o) { o.thickness = 51; }}});
  using Sewing = draft::SewingOptions;
  expect_checked<Sewing>(
      {{"stitch length, mm, is 0;", [](Sewing& o) { o.stitch.stitch = 0; }},
       {"thickness of a piece, mm, is -1;", [](Sewing& o) { o.thickness = -1; }},
       {"thickness of the piece seat, mm, is nan", [](Sewing& o) { o.thicknesses["seat"] = none; }}});
}

TEST(Options, OfChangeAndMaterial) {
  using Change = draft::ChangeOptions;
  expect_checked<Change>({{"tolerance, mm, is 0;", [](Change& o) { o.edges.tolerance = 0; }},
                          {"places of the registration is 0;", [](Change& o) { o.registration.places = 0; }},
                          {"direction of the grain, degrees, is -400;", [](Change& o) { o.grain_deg = -400; }},
                          {"distance of bench marks, mm, is 5;", [](Change& o) { o.bench = 5; }},
                          {"distance before, mm, is 0;",
                           [](Change& o) {
                             o.given = {{{0, 0}, {1, 0}, 0}};
                           }},
                          {"outline that counts as one, mm, is 0;", [](Change& o) { o.alike = 0; }},
                          {"step of the residual map, mm, is 0;", [](Change& o) { o.residual_step = 0; }},
                          {"share that a mirrored reference leaves is 2;", [](Change& o) { o.mirrored_share = 2; }},
                          {"largest strain, as a share, is -1;", [](Change& o) { o.largest_strain = -1; }},
                          {"most left of the panel's length, as a share, is 2;", [](Change& o) { o.largest_left = 2; }},
                          {"change that is not even, mm rms, is -1;", [](Change& o) { o.large_left = -1; }}});
  using Material = draft::MaterialOptions;
  expect_checked<Material>(
      {{"roll width, mm, is 0;", [](Material& o) { o.roll_width = 0; }},
       {"usable width, mm, is 1500; it must be 100 to 1400", [](Material& o) { o.usable_width = 1500; }},
       {"gap between pieces, mm, is -1;", [](Material& o) { o.gap = -1; }},
       {"hide, m2, is 5.5e-06; it must be 0.1 to 20", [](Material& o) { o.hide_area = 5.5; }},
       {"usable fraction is 0;", [](Material& o) { o.usable_fraction = 0; }}});
  using Roll = draft::RollOptions;
  expect_checked<Roll>({{"usable width of the roll, mm, is 0;", [](Roll& o) { o.width = 0; }},
                        {"gap between pieces, mm, is 51;", [](Roll& o) { o.gap = 51; }},
                        {"slack of the layout's outlines, mm, is 0;", [](Roll& o) { o.slack = 0; }},
                        {"trials of the layout is 5;", [](Roll& o) { o.trials = 5; }}});
}

TEST(Options, OfOutput) {
  using Picture = output::PictureOptions;
  expect_checked<Picture>({{"pitch of the picture, mm/px, is 0;", [](Picture& o) { o.mm_per_px = 0; }},
                           {"margin of the picture, mm, is -1;", [](Picture& o) { o.margin = -1; }},
                           {"least width of the picture, mm, is -1;", [](Picture& o) { o.min_width = -1; }},
                           {"grid of the picture, px, is 0;", [](Picture& o) { o.grid_px = 0; }},
                           {"distance of whiskers, mm, is 0;", [](Picture& o) { o.whisker_every = 0; }},
                           {"gain of whiskers is -1;", [](Picture& o) { o.whisker_gain = -1; }},
                           {"quality of the JPEG is 101;", [](Picture& o) { o.jpeg_quality = 101; }}});
  using Svg = output::SvgOptions;
  expect_checked<Svg>({{"margin of the SVG, mm, is -1;", [](Svg& o) { o.margin = -1; }},
                       {"stroke of the SVG, mm, is 0;", [](Svg& o) { o.stroke = 0; }}});
  using Set = output::SetOptions;
  expect_checked<Set>({{"gap between the pieces of the set, mm, is -1;", [](Set& o) { o.gap = -1; }},
                       {"width of the set's rows, mm, is -1;", [](Set& o) { o.row_width = -1; }}});
  using Cutter = output::CutterOptions;
  expect_checked<Cutter>({{"tolerance of the cutter's arcs, mm, is 0;", [](Cutter& o) { o.arc_tolerance = 0; }}});
  using Pages = output::PdfPages;
  expect_checked<Pages>({{"roll width of the PDF pages, mm, is 100;", [](Pages& o) { o.roll_width = 100; }},
                         {"overlap of the PDF pages, mm, is 51;", [](Pages& o) { o.overlap = 51; }},
                         {"line of the PDF pages, mm, is 0;", [](Pages& o) { o.line = 0; }}});
}

TEST(Options, OfJobs) {
  using Lens = LensOptions;
  expect_checked<Lens>(
      {{"least share of a photo's rows is 2;", [](Lens& o) { o.load.min_intact = 2; }},
       {"gate of corners, px, is 0;", [](Lens& o) { o.sighting.gate_px = 0; }},
       {"strong tilt, degrees, is -1;", [](Lens& o) { o.survey.strong_tilt_deg = -1; }},
       {"least photos of a lens profile is 0;", [](Lens& o) { o.least_photos = 0; }},
       {"most sigma of the focal length, as a share, is -1;", [](Lens& o) { o.most_focal_sigma = -1; }},
       {"weak focal length, as a share, is 2;", [](Lens& o) { o.weak_focal_sigma = 2; }},
       {"sigma at the picture's corner, px, is -1;", [](Lens& o) { o.most_corner_sigma_px = -1; }}});
  using Files = PieceFileOptions;
  expect_checked<Files>({{"overlap of the PDF pages, mm, is -1;", [](Files& o) { o.pdf.overlap = -1; }}});
  using Run = RunOptions;
  Run good;  // nothing but what every run must name
  good.photos = {"panel.jpg"};
  good.out = "out";
  expect_checked<Run>({{"no photo given", [](Run& o) { o.photos.clear(); }},
                       {"--out is empty", [](Run& o) { o.out.clear(); }},
                       {"--thickness-mm 80: must be from 0 to 50 mm", [](Run& o) { o.thickness = 80; }},
                       {"assumed thickness, mm, is -1;", [](Run& o) { o.assumed_thickness = -1; }},
                       {"sigma of an assumed thickness, mm, is nan", [](Run& o) { o.assumed_thickness_sigma = none; }},
                       {"decoded photos kept, MB, is -1;", [](Run& o) { o.keep_pixels_mb = -1; }},
                       {"least share of a photo's rows is 2;", [](Run& o) { o.load.min_intact = 2; }},
                       {"gate of corners, px, is 0;", [](Run& o) { o.sighting.gate_px = 0; }},
                       {"strong tilt, degrees, is -1;", [](Run& o) { o.survey.strong_tilt_deg = -1; }},
                       {"pitch of the coarse picture, mm/px, is 0;", [](Run& o) { o.trace.coarse_mm_per_px = 0; }},
                       {"notch depth, mm, is 0;", [](Run& o) { o.draft.notch_depth = 0; }},
                       {"line of the PDF pages, mm, is 3;", [](Run& o) { o.files.pdf.line = 3; }}},
                      good);
}

}  // namespace
}  // namespace chalkfold::job
