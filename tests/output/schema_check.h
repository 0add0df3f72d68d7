// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>
#include <string>

namespace chalkfold::test {

/// What a committed schema (file name in pipeline/output) has against a document, one line each; empty when it is
/// valid.
std::string complaints(const std::string& schema_file, const nlohmann::json& document);

}  // namespace chalkfold::test
