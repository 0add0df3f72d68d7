// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "pipeline/capture/sighting.h"
#include "pipeline/output/json/results.h"
#include "pipeline/survey/table_view.h"
#include "pipeline/trace/trace.h"

namespace chalkfold::job {

// Results as bytes and back, to the last bit of every number (cereal's portable binary archive). For this program's own use from run to run; not a
// format for others.

/// What reading one photo gave.
struct KeptReading {
  output::PhotoRecord record;
  capture::Sighting sighting;
};

/// A file of OUT as it was written.
struct KeptFile {
  /// relative to OUT
  std::string place;
  /// of its bytes
  std::string sha256;
};

/// A panel's pictures, and which crops it has.
struct KeptPictures {
  std::vector<KeptFile> files;
  std::string picture;
  std::vector<output::CropRecord> crops;
};

/// What joining one panel gave. Tasks are counted as in the run.
struct KeptJoin {
  std::optional<output::PanelRecord> record;
  /// members that were measured by themselves after all
  std::vector<std::pair<std::size_t, output::PanelRecord>> single;
  std::vector<std::pair<std::size_t, Fault>> faults;
  /// that the joined record was measured in
  std::vector<std::size_t> tasks;
  /// of all its records
  std::vector<KeptFile> pictures;
};

std::string bytes_of(const KeptReading& reading);
std::string bytes_of(const trace::TraceResult& traced);
std::string bytes_of(const KeptPictures& pictures);
std::string bytes_of(const KeptJoin& joined);

/// Throws std::exception when the bytes are not what bytes_of() gave.
KeptReading reading_from(const std::string& bytes);
trace::TraceResult traced_from(const std::string& bytes);
KeptPictures pictures_from(const std::string& bytes);
KeptJoin joined_from(const std::string& bytes);

/// Everything a view maps by, for keys.
std::string bytes_of(const survey::TableView::Solution& solution);

}  // namespace chalkfold::job
