// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "pipeline/output/json/results.h"

namespace chalkfold::output {

/// What the program says on a terminal at the end: a line a panel (name, size, area, U), then every fault with what was
/// seen and what to do, and last "open REPORT". Plain UTF-8 without control characters, whatever file names held.
std::string summary_text(const Results& results, const std::string& report);

/// "812.4 x 604.1 mm", the longer side first.
std::string size_text(const panel::Panel& panel);

/// "4123.5 cm2".
std::string area_text(const panel::Panel& panel);

/// Of a hide or an offcut: "usable 0.9123 m2 (3 flaws and 1 hole taken off), U at the most 0.0012 m2".
std::string usable_text(const panel::Panel& panel);

/// What a fault is about, for people: "photo x.jpg", "panel seat top", or "this run".
std::string subject_text(const Fault& fault);

}  // namespace chalkfold::output
