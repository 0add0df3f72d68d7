// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace chalkfold::output {

/// The report page's style sheet: readable at the bench and printed in grey.
extern const char* const report_style;

}  // namespace chalkfold::output
