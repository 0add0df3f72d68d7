// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/join_cluster.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <opencv2/imgproc.hpp>

#include "pipeline/geometry/outline_registration.h"
#include "pipeline/geometry/robust.h"
#include "pipeline/job/files/panel_files.h"
#include "pipeline/job/plan/panel_kind.h"
#include "pipeline/trace/join_marks.h"
#include "pipeline/trace/join_panel.h"

namespace chalkfold::job {
namespace {

// mm, rms of one outline laid on the other: more is another panel, or one moved out of shape
constexpr double same_panel = 1.5;

/// What became of one cluster; taken over in order afterwards, so that threads do not matter.
using Joined = KeptJoin;

/// A photo and the room it takes.
struct HeldPhoto {
  std::unique_ptr<PixelGate::Pass> pass;
  std::optional<capture::Photo> photo;
};

/// One cluster's work.
class Joiner {
 public:
  Joiner(const std::vector<PhotoTask>& tasks, const survey::Survey& survey, const RunContext& context,
         const PanelCluster& cluster)
      : tasks_(tasks), survey_(survey), context_(context), cluster_(cluster) {}

  Joined run() {
    tell_two_names();
    if (cluster_.members.size() == 1 || !lay_together())
      each_alone();
    else
      join();
    return std::move(out_);
  }

 private:
  const WaitingPanel& waiting(const WaitingAt& at) const { return tasks_[at.task].waiting[at.index]; }
  const survey::TableView& view(const WaitingAt& at) const { return *survey_.views[tasks_[at.task].index]; }
  int setup(const WaitingAt& at) const { return survey_.setup_of_sighting[tasks_[at.task].index]; }

  void tell(const WaitingAt& at, Fault fault) {
    fault.photo = tasks_[at.task].name;
    out_.faults.emplace_back(at.task, std::move(fault));
  }

  std::string name() const { return cluster_.of ? cluster_.of->name : waiting(cluster_.members.front()).name; }

  void tell_two_names() {
    for (const JobPanel* other : cluster_.also) {
      tell(cluster_.members.front(), {"two-names",
                                      Severity::warning,
                                      fmt::format("the tags of {} and of {} both name this panel; it is taken for {}",
                                                  cluster_.of->name, other->name, cluster_.of->name),
                                      "Lay one tag by each panel, the same in every photo.",
                                      {},
                                      cluster_.of->name});
    }
  }

  /// Finds the motion between every photo's table and the first whole panel's (or the first part's). False when the panel cannot be laid together at all.
  bool lay_together() {
    const auto first_whole = std::find_if(cluster_.members.begin(), cluster_.members.end(),
                                          [&](const WaitingAt& at) { return waiting(at).whole; });
    const WaitingAt base = first_whole == cluster_.members.end() ? cluster_.members.front() : *first_whole;
    int frames = 1;
    for (const WaitingAt& at : cluster_.members) {
      const WaitingPanel& w = waiting(at);
      if (setup(at) == setup(base) && (!w.whole || !waiting(base).whole || lies_as(base, at))) {
        add(at, {}, 0);
        continue;
      }
      // Seen in part in another setup, or with no whole panel to lay it on: nothing to lay it by.
      if (!w.whole || !waiting(base).whole) {
        left_.push_back(at);
        continue;
      }
      const auto motion = laid_on(base, at);
      if (motion)
        add(at, motion->inverse(), frames++);
      else
        left_.push_back(at);
    }
    return sights_.size() > 1;
  }

  /// Whether a whole panel lies in both photos where the other has it: it was not moved between them.
  bool lies_as(const WaitingAt& a, const WaitingAt& b) const {
    constexpr double moved = 0.7;  // mm, half of the outline's points
    const panel::Contour ca = panel::outline_across_notches(waiting(a).traced.panel);
    std::vector<double> off;
    for (std::size_t i = 0; i < ca.points.size(); i += 8)
      off.push_back(geometry::distance_to(waiting(b).traced.panel.outline.points, ca.points[i], true));
    return geometry::median(off) < moved;
  }

  /// Motion of `at`'s table onto the base's, by outline, marks deciding between ways that fit alike.
  std::optional<geometry::Rigid2> laid_on(const WaitingAt& base, const WaitingAt& at) const {
    const panel::Panel &fixed = waiting(base).traced.panel, &loose = waiting(at).traced.panel;
    const auto ways = geometry::register_outlines(geometry::ClosedOutline(panel::outline_across_notches(loose).points),
                                                  geometry::ClosedOutline(panel::outline_across_notches(fixed).points));
    if (ways.front().rigid_rms > same_panel) return std::nullopt;
    constexpr double alike = 1.3, alike_mm = 0.1;  // times the best, mm more
    const geometry::OutlineRegistration* best = nullptr;
    int most = -1;
    for (const geometry::OutlineRegistration& way : ways) {
      if (way.rigid_rms > alike * ways.front().rigid_rms + alike_mm) continue;
      const int agreeing = marks_agreeing(fixed, trace::moved(way.rigid, loose));
      if (agreeing <= most) continue;
      most = agreeing;
      best = &way;
    }
    return best->rigid;
  }

  static int marks_agreeing(const panel::Panel& a, const panel::Panel& b) {
    constexpr double near = 4;  // mm
    int count = 0;
    for (const panel::MatchMark& m : a.marks.matches)
      count += std::any_of(b.marks.matches.begin(), b.marks.matches.end(), [&](const panel::MatchMark& o) {
        return (o.foot - m.foot).norm() < near && (o.tip - m.tip).norm() < 3 * near;
      });
    for (const panel::DrillHole& h : a.marks.holes)
      count += std::any_of(b.marks.holes.begin(), b.marks.holes.end(),
                           [&](const panel::DrillHole& o) { return (o.centre - h.centre).norm() < near; });
    for (const panel::Notch& n : a.marks.notches)
      count += std::any_of(b.marks.notches.begin(), b.marks.notches.end(),
                           [&](const panel::Notch& o) { return (o.foot - n.foot).norm() < near; });
    if (a.marks.grain && b.marks.grain) count += (a.marks.grain->head - b.marks.grain->head).norm() < 3 * near;
    return count;
  }

  void add(const WaitingAt& at, const geometry::Rigid2& table_from_joined, int frame) {
    const WaitingPanel& w = waiting(at);
    sights_.push_back({&w.traced.panel, w.whole ? Polyline{} : w.traced.seen, &view(at), table_from_joined, frame});
    sighted_.push_back(at);
  }

  void join() {
    std::vector<std::size_t> sightings;
    for (const WaitingAt& at : sighted_) sightings.push_back(tasks_[at.task].index);
    const trace::TraceOptions& trace = waiting(sighted_.front()).trace;
    trace::OutlineGap gap;
    auto joined = trace::join_panel(sights_, survey::joint_covariance(survey_, sightings), trace, &gap);
    if (!joined) {
      for (const WaitingAt& at : cluster_.members)
        part_alone(at, fmt::format("; the photos of it together leave {:.0f} mm of its outline unseen", gap.length));
      return;
    }
    for (const WaitingAt& at : left_) leave_out(at);
    panel::Panel& panel = *joined;
    panel.name = name();
    for (const WaitingAt& at : sighted_) {
      if (!panel.tag) panel.tag = waiting(at).traced.panel.tag;
      const std::string& photo = tasks_[at.task].name;
      panel.photo += (panel.photo.empty() ? "" : " + ") + photo;
    }
    read_marks(panel, trace);
    take_kind(panel, cluster_.of, job());
    for (Fault& fault : panel.faults) fault.panel = panel.name;
    output::PanelRecord record;
    record.panel = std::move(panel);
    record.thickness_sigma = trace.thickness_sigma;
    for (const WaitingAt& at : sighted_) record.photos.push_back(tasks_[at.task].name);
    if (output::is_measured(record) && !write(record, trace)) return;
    for (const WaitingAt& at : sighted_) out_.tasks.push_back(at.task);
    out_.record = std::move(record);
  }

  /// Sights in the order in which they are asked: the sharpest first.
  std::vector<std::size_t> best_first() const {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < sights_.size(); ++i) order.push_back(i);
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return sights_[a].panel->U_median < sights_[b].panel->U_median;
    });
    return order;
  }

  HeldPhoto photo_of(const WaitingAt& at) {
    Faults faults;
    const PhotoTask& task = tasks_[at.task];
    HeldPhoto held{std::make_unique<PixelGate::Pass>(context_.gate, task.pixel_bytes),
                   photo_again(task, context_, faults)};
    for (Fault& fault : faults) out_.faults.emplace_back(at.task, std::move(fault));
    return held;
  }

  const JobFile* job() const { return context_.options.job ? &*context_.options.job : nullptr; }
  bool may_have_flaws() const { return cluster_.of && cluster_.of->kind != panel::PanelKind::panel; }

  void read_marks(panel::Panel& panel, const trace::TraceOptions& trace) {
    std::vector<trace::ChalkLine> lines;
    for (const std::size_t i : best_first()) {
      const HeldPhoto held = photo_of(sighted_[i]);
      if (!held.photo) continue;
      trace::add_marks_of(panel, sights_[i], *held.photo, trace);
      if (may_have_flaws()) trace::add_chalk_lines_of(lines, panel, sights_[i], *held.photo, trace);
    }
    if (may_have_flaws()) trace::set_flaws(panel, lines, panel.photo);
  }

  /// How far inside what a sight is to be believed in each pixel of a picture lies, px; a whole panel's photo everywhere alike.
  cv::Mat depth_of(const trace::PanelSight& sight, const output::PictureFrame& frame) const {
    if (sight.whole()) return {frame.height_px, frame.width_px, CV_32F, cv::Scalar(1e6 - 100 * sight.panel->U_median)};
    cv::Mat seen = cv::Mat::zeros(frame.height_px, frame.width_px, CV_8U);
    std::vector<cv::Point> border;
    const geometry::Rigid2 joined_from_table = sight.table_from_joined.inverse();
    for (const Vec2& p : sight.seen) {
      const Vec2 q = frame.picture_from_table(joined_from_table * p);
      border.emplace_back(cvRound(q.x()), cvRound(q.y()));
    }
    cv::fillPoly(seen, std::vector<std::vector<cv::Point>>{border}, cv::Scalar(255));
    cv::Mat depth;
    cv::distanceTransform(seen, depth, cv::DIST_L2, 3);
    return depth;
  }

  /// False when none of its photos could be read again; the faults say so.
  bool write(output::PanelRecord& record, const trace::TraceOptions& trace) {
    const panel::Panel& panel = record.panel;
    const output::PictureOptions options;
    const output::PictureFrame frame = output::frame_around(panel, options);
    cv::Mat picture, deepest(frame.height_px, frame.width_px, CV_32F, cv::Scalar(-1));
    std::vector<CropPlace> crops = crop_places(panel);
    std::vector<std::string> bytes(crops.size());
    for (const std::size_t i : best_first()) {
      const HeldPhoto held = photo_of(sighted_[i]);
      const std::optional<capture::Photo>& photo = held.photo;
      if (!photo) continue;
      const trace::PanelSight& sight = sights_[i];
      const auto photo_from_panel = [&](const Vec2& p) {
        return sight.view->photo_from_table(sight.table_from_joined * p, trace.face_height());
      };
      const cv::Mat depth = depth_of(sight, frame), better = depth > deepest;
      if (picture.empty() || cv::countNonZero(better) > 0) {
        const cv::Mat own = output::rectified(photo->bgr, photo_from_panel, frame, options.grid_px);
        if (picture.empty()) picture = cv::Mat(own.size(), own.type(), cv::Scalar(224, 224, 224));
        own.copyTo(picture, better);
        depth.copyTo(deepest, better);
      }
      for (std::size_t k = 0; k < crops.size(); ++k) {
        const auto in_sight = [&](const Vec2& p) {
          return sight.whole() || geometry::contains(sight.seen, sight.table_from_joined * p);
        };
        if (bytes[k].empty() && in_sight(crops[k].low) && in_sight(crops[k].high))
          bytes[k] = crop_of(crops[k], *photo, photo_from_panel);
      }
    }
    if (picture.empty()) return false;
    std::vector<OutputFile> files;
    for (std::size_t k = 0; k < crops.size(); ++k) {
      if (bytes[k].empty()) continue;
      record.crops.push_back({crops[k].of, crops[k].index, crops[k].place});
      files.push_back({crops[k].place, std::move(bytes[k])});
    }
    write_panel(context_.options.out, record, output::panel_picture_jpeg(picture, frame, panel, options),
                std::move(files));
    return true;
  }

  void part_alone(const WaitingAt& at, const std::string& more) {
    const WaitingPanel& w = waiting(at);
    if (w.whole) return;
    Fault fault = w.traced.alone;
    fault.seen += more;
    fault.panel = cluster_.of ? cluster_.of->name : "";
    tell(at, std::move(fault));
  }

  /// The panel is measured from photos that show it whole.
  void part_not_needed(const WaitingAt& at) {
    Fault fault = waiting(at).traced.alone;
    fault.severity = Severity::warning;
    fault.seen += fmt::format("; {} is measured from the photos that show it whole, without this one", name());
    fault.remedy = "Nothing, unless this photo was to add something.";
    fault.panel = name();
    tell(at, std::move(fault));
  }

  void leave_out(const WaitingAt& at) {
    if (!waiting(at).whole) {
      if (std::any_of(sights_.begin(), sights_.end(), [](const trace::PanelSight& sight) { return sight.whole(); }))
        part_not_needed(at);
      else
        part_alone(at, ", and the sheets do not lie as in the photos that show the rest");
      return;
    }
    tell(at, {"photos-differ",
              Severity::warning,
              fmt::format("the outline in this photo cannot be laid on that of {} in the others to within {:.1f} mm",
                          name(), same_panel),
              "Is it the same panel, the same side up, and flat? It is measured by itself.",
              {},
              name()});
    write_single(at);
  }

  void each_alone() {
    for (const WaitingAt& at : cluster_.members) {
      if (cluster_.members.size() > 1) {
        if (std::find_if(left_.begin(), left_.end(),
                         [&](const WaitingAt& l) { return l.task == at.task && l.index == at.index; }) != left_.end())
          leave_out(at);
        else if (waiting(at).whole)
          write_single(at);
        else
          part_alone(at, "");
      } else if (waiting(at).whole) {
        write_single(at);
      } else {
        part_alone(at, "");
      }
    }
  }

  void write_single(const WaitingAt& at) {
    const HeldPhoto held = photo_of(at);
    if (!held.photo) return;
    output::PanelRecord record;
    record.panel = waiting(at).traced.panel;
    record.panel.name = cluster_.members.size() == 1 ? name() : waiting(at).name;
    take_kind(record.panel, cluster_.of ? cluster_.of : waiting(at).of, job());
    name_faults(record.panel);
    record.thickness_sigma = waiting(at).trace.thickness_sigma;
    write_panel(context_.options.out, record, *held.photo, view(at), waiting(at).trace.face_height());
    out_.single.emplace_back(at.task, std::move(record));
  }

  const std::vector<PhotoTask>& tasks_;
  const survey::Survey& survey_;
  const RunContext& context_;
  const PanelCluster& cluster_;
  std::vector<trace::PanelSight> sights_;
  /// members in sights_, and those that could not be laid on them
  std::vector<WaitingAt> sighted_, left_;
  Joined out_;
};

}  // namespace

KeptJoin join_cluster(const std::vector<PhotoTask>& tasks, const survey::Survey& survey, const RunContext& context,
                      const PanelCluster& cluster) {
  return Joiner(tasks, survey, context, cluster).run();
}

}  // namespace chalkfold::job
