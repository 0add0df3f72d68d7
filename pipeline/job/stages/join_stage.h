// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <vector>

#include "pipeline/job/stages/photo_task.h"

namespace chalkfold::job {

/// Runs a piece of work for every number below `count`, several at a time. The work gives the name of what it did, for progress.
using ForEach = std::function<void(std::size_t count, const std::function<std::string(std::size_t)>& work)>;

/// Joins what several photos show of one panel and writes its files; the record goes to the first of its photos. Photos of one setup are joined where
/// the panel lies, parts and wholes alike; a panel that was photographed whole in other setups too is laid on itself by its outline. What a photo shows
/// only in part while another shows it whole is left to that one. Things belong together by the job's name (tag or photo list), or by lying on each other in
/// one setup.
///
/// Fault codes: panel-cut-by-frame of a part that nothing could be joined to (the gap is told), photos-differ when outlines under one name
/// are not those of one panel (each is then measured by itself, "NAME", "NAME-2"), two-names when one panel has the tags of two.
void join_panels(std::vector<PhotoTask>& tasks, const survey::Survey& survey, RunContext& context,
                 const ForEach& for_each);

}  // namespace chalkfold::job
