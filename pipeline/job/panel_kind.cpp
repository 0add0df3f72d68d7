// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/panel_kind.h"

namespace chalkfold {

void take_kind(Panel& panel, const JobPanel* of, const JobFile* job) {
  panel.kind = of ? of->kind : PanelKind::panel;
  const auto forget = [&](const char* code) {
    std::erase_if(panel.faults, [&](const Fault& fault) { return fault.code == code; });
  };
  if (!is_material(panel)) {
    panel.flaws.clear();
    forget("ring-open");
    return;
  }
  panel.marks = {};
  forget("centre-line-off");
  const auto side = of->own.side ? of->own.side : job ? job->defaults.side : std::nullopt;
  if (side) panel.face_up = *side == Side::face;
}

}  // namespace chalkfold
