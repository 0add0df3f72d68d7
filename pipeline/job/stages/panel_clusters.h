// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <vector>

#include "pipeline/job/stages/photo_task.h"

namespace chalkfold::job {

/// A waiting panel: which photo, and which of those that wait there.
struct WaitingAt {
  std::size_t task = 0, index = 0;
};

/// What photos show of one and the same panel, in the order of the photos.
struct PanelCluster {
  std::vector<WaitingAt> members;
  /// what the job knows it as: by a tag if any member has one
  const JobPanel* of = nullptr;
  /// other panels of the job whose tags name it too
  std::vector<const JobPanel*> also;
};

/// Parts of panels that lie, in another photo of their setup, within a panel seen whole are left out; the rest is put together by the job's name, and by
/// lying on each other in one setup with the same edge. In the order of their first members.
std::vector<PanelCluster> cluster_panels(const std::vector<PhotoTask>& tasks, const survey::Survey& survey);

}  // namespace chalkfold::job
