// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "pipeline/job/files/state_archive.h"
#include "pipeline/job/stages/panel_clusters.h"

namespace chalkfold::job {

/// Joins one cluster and writes its files; changes no task, so that clusters may be joined side by side. See join_stage.h. Exceptions pass through.
KeptJoin join_cluster(const std::vector<PhotoTask>& tasks, const survey::Survey& survey, const RunContext& context,
                      const PanelCluster& cluster);

}  // namespace chalkfold::job
