// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>

namespace chalkfold::bench {

struct DraftTiming {
  int pieces = 0;
  /// CPU time of reading, drafting and writing all of them
  double seconds = 0;
  /// of drafting alone
  double draft_seconds = 0;
};

/// Measures the photo's panels once, then drafts the first of them `pieces` times from its measured JSON, files and all.
/// Throws UserError.
DraftTiming bench_draft(const std::filesystem::path& photo, double thickness, const std::filesystem::path& scratch,
                        int pieces);

}  // namespace chalkfold::bench
