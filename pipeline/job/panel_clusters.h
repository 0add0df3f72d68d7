// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <vector>

#include "pipeline/job/photo_task.h"

namespace chalkfold {

/// A waiting panel: which photo, and which of those that wait there.
struct WaitingAt {
  std::size_t task = 0, index = 0;
};

/// What photos show of one and the same panel, in the order of the photos.
struct PanelCluster {
  std::vector<WaitingAt> members;
  const JobPanel* of = nullptr;       ///< what the job knows it as: by a tag if any member has one
  std::vector<const JobPanel*> also;  ///< other panels of the job whose tags name it too
};

/// Parts of panels that lie, in another photo of their setup, within a panel seen whole are left out; the rest is put together by the job's name, and by
/// lying on each other in one setup with the same edge. In the order of their first members.
std::vector<PanelCluster> cluster_panels(const std::vector<PhotoTask>& tasks, const Survey& survey);

}  // namespace chalkfold
