// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/drawing/dxf.h"

#include "pipeline/output/drawing/dxf_groups.h"

namespace chalkfold::output {

std::string dxf_of(const Drawing& drawing) {
  DxfGroups out;
  begin_dxf(out, drawing.box, exchange_layers({drawing}));
  begin_dxf_entities(out);
  add_dxf_drawing(out, drawing);
  return finish_dxf(out);
}

std::string dxf_of(const panel::Panel& panel) { return dxf_of(drawing_of(panel)); }

}  // namespace chalkfold::output
