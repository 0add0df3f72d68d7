// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "pipeline/common/fault.h"
#include "pipeline/job/plan/job_file.h"
#include "pipeline/job/plan/panel_names.h"

namespace chalkfold::job {

/// Which of a job's panels each photo shows: by the tags seen in it, or by the photos that a panel lists. Settled after the photos are
/// read and before panels are traced, so that names depend on no thread.
///
/// A traced panel whose tag the job knows is that panel. One without a known tag is the panel that lists the photo, if only one
/// without a tag does and it is the photo's first such; any other is named after its photo. A panel that several photos show and that
/// cannot be joined (join_stage.h) has its name in the first of them and "NAME-2", ... in the rest.
class JobPlan {
 public:
  /// `tags[i]`: numbers seen in photo i. `photos` and `names` as of the run.
  JobPlan(const JobFile& job, const std::vector<std::filesystem::path>& photos,
          const std::vector<std::vector<int>>& tags, const PanelNames& names);

  struct Place {
    std::string name;
    /// none when the job does not know it
    const JobPanel* panel = nullptr;
  };
  /// `index`: of the traced panel in its photo; `unknown_before`: of those before it in the photo, how many the job knew by no tag.
  Place place(std::size_t photo, std::size_t index, const std::optional<int>& tag, std::size_t unknown_before) const;

  /// Whether more than one photo shows a panel of the job.
  bool in_several_photos(const JobPanel& panel) const;

  /// Whether the photo is to show a hide or an offcut, on which flaws may be ringed.
  bool shows_material(std::size_t photo) const;

  /// Of the panels that the photo is to show: the job's, when they agree or only one is given.
  std::optional<double> thickness(std::size_t photo) const;
  /// thicknesses-differ: panels of several thicknesses in one photo; the first is taken for all.
  Faults faults_of(std::size_t photo) const;

 private:
  std::vector<const JobPanel*> expected(std::size_t photo) const;

  const JobFile& job_;
  const PanelNames& names_;
  /// Of each job panel: the photos that show its tag, those that it lists, and both together.
  std::vector<std::vector<std::size_t>> by_tag_, by_photo_, shown_;
};

/// What the job says of each of the run's photos: of the photo itself, else its `phone`.
std::vector<survey::PhotoSaid> said_of(const JobFile& job, const std::vector<std::filesystem::path>& photos);

/// The job's panel that a measured panel's name belongs to ("NAME", "NAME-2"), or none.
const JobPanel* panel_of(const JobFile& job, const std::string& measured_name);

}  // namespace chalkfold::job
