// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/stages/panel_clusters.h"

#include <algorithm>
#include <numeric>

#include "pipeline/geometry/polygon.h"
#include "pipeline/geometry/regions.h"
#include "pipeline/trace/join_outlines.h"

namespace chalkfold::job {
namespace {

/// What of a panel one photo is sure of.
std::vector<Polyline> sure_area(const WaitingPanel& waiting) {
  const Polyline& outline = waiting.traced.panel.outline.points;
  return waiting.whole ? std::vector<Polyline>{outline} : geometry::overlap(outline, waiting.traced.seen);
}

double overlap_of(const WaitingPanel& a, const WaitingPanel& b) {
  double sum = 0;
  for (const Polyline& p : sure_area(a))
    for (const Polyline& q : sure_area(b)) sum += geometry::overlap_area(p, q);
  return sum;
}

double area_of(const WaitingPanel& a) {
  double sum = 0;
  for (const Polyline& p : sure_area(a)) sum += geometry::signed_area(p);
  return sum;
}

constexpr double least_overlap = 900;  // mm2: neighbours that touch do not overlap by so much
constexpr double least_share = 0.03;   // of the smaller

/// Whether two photos that overlap see the same edge there: in one setup, sheets staying put, one panel is often laid where another was.
bool same_edge(const WaitingPanel& a, const WaitingPanel& b) {
  constexpr double most_share = 0.3;  // of the points that both see: a flap may be folded over
  constexpr double rim = 30;          // mm inside what is seen: nearer to its border an outline may leave it
  constexpr std::size_t step = 4, few = 10;
  const auto sees = [&](const WaitingPanel& w, const Vec2& p) {
    return w.whole || (geometry::contains(w.traced.seen, p) && geometry::distance_to(w.traced.seen, p, true) > rim);
  };
  std::size_t both = 0, off = 0;
  for (const auto& [own, other] : {std::pair{&a, &b}, std::pair{&b, &a}}) {
    const Polyline &line = own->traced.panel.outline.points, &against = other->traced.panel.outline.points;
    for (std::size_t i = 0; i < line.size(); i += step) {
      if (!sees(a, line[i]) || !sees(b, line[i])) continue;
      ++both;
      off += geometry::distance_to(against, line[i], true) > trace::same_edge_reach;
    }
  }
  return both < few || static_cast<double>(off) <= most_share * static_cast<double>(both);
}

bool lie_on_each_other(const WaitingPanel& a, const WaitingPanel& b) {
  return overlap_of(a, b) > std::max(least_overlap, least_share * std::min(area_of(a), area_of(b)));
}

/// Whether another photo of the setup shows the part's panel whole, measured there by itself.
bool shown_whole(const std::vector<PhotoTask>& tasks, const std::vector<int>& setup, const WaitingAt& at) {
  const WaitingPanel& part = tasks[at.task].waiting[at.index];
  if (part.whole) return false;
  for (const PhotoTask& other : tasks) {
    if (other.index == tasks[at.task].index || setup[other.index] != setup[tasks[at.task].index]) continue;
    for (const output::PanelRecord& record : other.panels) {
      if (record.panel.outline.points.size() < 3) continue;
      WaitingPanel whole;
      whole.traced.panel.outline.points = record.panel.outline.points;
      whole.whole = true;
      if (lie_on_each_other(part, whole) && same_edge(part, whole)) return true;
    }
  }
  return false;
}

class Unions {
 public:
  explicit Unions(std::size_t count) : parent_(count) { std::iota(parent_.begin(), parent_.end(), std::size_t{0}); }
  std::size_t root(std::size_t i) { return parent_[i] == i ? i : parent_[i] = root(parent_[i]); }
  void unite(std::size_t a, std::size_t b) {
    const std::size_t low = std::min(root(a), root(b)), high = std::max(root(a), root(b));
    parent_[high] = low;
  }

 private:
  std::vector<std::size_t> parent_;
};

void name_cluster(const std::vector<PhotoTask>& tasks, PanelCluster& cluster) {
  for (const bool by_tag : {true, false}) {
    for (const WaitingAt& at : cluster.members) {
      const WaitingPanel& w = tasks[at.task].waiting[at.index];
      if (!w.of || w.by_tag != by_tag) continue;
      if (!cluster.of)
        cluster.of = w.of;
      else if (by_tag && w.of != cluster.of &&
               std::find(cluster.also.begin(), cluster.also.end(), w.of) == cluster.also.end())
        cluster.also.push_back(w.of);
    }
  }
}

}  // namespace

std::vector<PanelCluster> cluster_panels(const std::vector<PhotoTask>& tasks, const survey::Survey& survey) {
  const std::vector<int>& setup = survey.setup_of_sighting;
  std::vector<WaitingAt> all;
  for (std::size_t t = 0; t < tasks.size(); ++t)
    for (std::size_t i = 0; i < tasks[t].waiting.size(); ++i)
      if (!shown_whole(tasks, setup, {t, i})) all.push_back({t, i});
  Unions unions(all.size());
  // Panels that the job tells apart may have lain in one place one after the other.
  const auto may_be_one = [](const WaitingPanel& a, const WaitingPanel& b) {
    return (!a.of || !b.of || a.of == b.of || (!a.whole && !b.whole)) && same_edge(a, b);
  };
  for (std::size_t b = 1; b < all.size(); ++b) {
    for (std::size_t a = 0; a < b; ++a) {
      if (all[a].task == all[b].task) continue;
      const WaitingPanel &wa = tasks[all[a].task].waiting[all[a].index], &wb = tasks[all[b].task].waiting[all[b].index];
      const bool same_setup = setup[tasks[all[a].task].index] == setup[tasks[all[b].task].index];
      if ((wa.of && wa.of == wb.of) || (same_setup && lie_on_each_other(wa, wb) && may_be_one(wa, wb)))
        unions.unite(a, b);
    }
  }
  std::vector<PanelCluster> clusters;
  std::vector<std::size_t> cluster_of_root(all.size(), all.size());
  for (std::size_t i = 0; i < all.size(); ++i) {
    std::size_t& at = cluster_of_root[unions.root(i)];
    if (at == all.size()) {
      at = clusters.size();
      clusters.emplace_back();
    }
    clusters[at].members.push_back(all[i]);
  }
  for (PanelCluster& cluster : clusters) name_cluster(tasks, cluster);
  return clusters;
}

}  // namespace chalkfold::job
