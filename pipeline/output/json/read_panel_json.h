// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

#include "pipeline/output/json/results.h"

namespace chalkfold::output {

/// The panel that panel_json wrote to measured/NAME.json, with its marks, back in the survey's table frame, so that
/// drafting can start without the photos: panel, thickness_sigma and crops of the record are filled. Numbers come back as
/// the file has them, rounded; written again they give the same bytes. `where` names the file in messages. Throws
/// FileError, naming file and key, for bytes that are cut short or no JSON, a key that is missing or unknown, a value of
/// the wrong kind, an outline of fewer than three points, notches that are not on the outline or lie in one another, and
/// a schema other than panel_schema.
PanelRecord read_panel_json(std::string_view bytes, const std::string& where);

}  // namespace chalkfold::output
