// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/panel_kind.h"

namespace chalkfold::job {

void take_kind(panel::Panel& panel, const JobPanel* of, const JobFile* job) {
  panel.kind = of ? of->kind : panel::PanelKind::panel;
  const auto forget = [&](const char* code) {
    std::erase_if(panel.faults, [&](const Fault& fault) { return fault.code == code; });
  };
  if (!panel::is_material(panel)) {
    panel.flaws.clear();
    forget("ring-open");
    return;
  }
  panel.marks = {};
  forget("centre-line-off");
  const auto side = of->own.side ? of->own.side : job ? job->defaults.side : std::nullopt;
  if (side) panel.face_up = *side == draft::Side::face;
}

}  // namespace chalkfold::job
