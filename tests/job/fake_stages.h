// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <atomic>
#include <memory>

#include "pipeline/job/run_job.h"

namespace chalkfold::test {

/// What the fake stages counted.
struct StageCounts {
  std::atomic<int> loads{0}, loading_now{0}, most_loading{0};
};

/// A photo of 1200 x 900 px from 1 m straight above the table: x right, y away from the viewer.
survey::TableView view_from_above(const std::string& photo);

/// The checksum that the fake photos carry.
std::string fake_checksum(const std::filesystem::path& file);

/// Stages that need no picture. A photo whose file name holds "bad" is no picture, "throws" makes the tracing throw,
/// "lost" cannot be surveyed, "cut" shows a panel that is refused, "two" and "three" show that many panels, "part-one" and
/// "part-two" its left and right part of one ("moved": 5 mm off), "other" one that is taller; "again" has the sheets laid anew; every other
/// shows one (the flag of tests/output/flag_panel.h).
job::Stages fake_stages(const std::shared_ptr<StageCounts>& counts);

}  // namespace chalkfold::test
