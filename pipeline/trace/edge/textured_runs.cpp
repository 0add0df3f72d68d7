// SPDX-License-Identifier: Apache-2.0
#include "pipeline/trace/edge/textured_runs.h"

#include <algorithm>

#include "pipeline/trace/edge/edge_texture.h"

namespace chalkfold::trace {

EdgeTextures find_textures(const std::vector<OutlineRun>& runs, const std::vector<std::vector<EdgeProfile>>& profiles,
                           const std::vector<double>& scatter, double calm) {
  constexpr std::ptrdiff_t long_enough = 24;  // points: twice what is averaged, so no nick, hole or stroke of chalk
  EdgeTextures out;
  std::ptrdiff_t textured = 0;
  for (std::size_t r = 0; r < runs.size(); ++r) {
    out.along.push_back(scatter[r] < calm ? texture_along(profiles[r], runs[r].closed)
                                          : std::vector<double>(profiles[r].size(), 0));
    textured +=
        std::count_if(out.along[r].begin(), out.along[r].end(), [](double a) { return share_taken_out(a) >= 1; });
  }
  out.count = textured >= long_enough;
  return out;
}

std::vector<EdgeProfile> without_texture(const OutlineRun& run, const std::vector<EdgeProfile>& profiles,
                                         const std::vector<double>& along, const Polyline& outline,
                                         const BoundarySampler& sampler, const OutlineFitOptions& o) {
  std::vector<EdgeProfile> deep, flat = profiles;
  if (std::none_of(along.begin(), along.end(), [](double a) { return share_taken_out(a) > 0; })) return flat;
  std::vector<double> edges, blur;
  for (std::size_t i = 0; i < run.base.size(); ++i) {
    edges.push_back(run.normals[i].dot(outline[i] - run.base[i]));
    blur.push_back(o.blur_px * sampler.mm_per_px(run.base[i], run.normals[i]));
    deep.push_back(sampler.profile(run.base[i], run.normals[i], -texture_depth, 0, profiles[i].step, 1, 0));
  }
  take_out_texture({deep, edges, blur, along, run.closed}, flat);
  return flat;
}

}  // namespace chalkfold::trace
