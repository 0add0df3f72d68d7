// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/json/records.h"

namespace chalkfold::output {

/// Version of measured/NAME.json.
inline constexpr const char* panel_schema = "chalkfold-panel-1";

/// measured/NAME.json as panel.schema.json describes it: the outline and cut-outs point by point in the `panel` frame
/// (mm, y up, as photographed) with the sigma of the edge finding and U (k = 2), rounded to 4 decimals like the DXF.
/// Throws std::logic_error for an outline of fewer than three points.
std::string panel_json(const PanelRecord& record);

/// Adds what makes a hide or an offcut of a panel: kind, face_up (null: nobody said), usable_area and usable_area_U. Nothing for a panel.
void add_material(nlohmann::ordered_json& json, const panel::Panel& panel);

/// A flaw's numbers, without its points: centre and size (of the box around it) in the `panel` frame.
nlohmann::ordered_json flaw_figures_json(const panel::Flaw& flaw, const Vec2& origin);

}  // namespace chalkfold::output
