// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

namespace chalkfold {

/// How much a fault takes away from the result.
enum class Severity {
  /// worth knowing, nothing is lost
  note,
  /// the result stands, with more doubt than usual
  warning,
  /// the photo or panel named gives no result
  refusal,
};

/// Something wrong that the user must hear. The second of the three failure channels: a broken invariant throws
/// std::logic_error with its values, a user error throws a typed UserError (error.h), an unusable photo or panel
/// returns a result that carries a Fault. A bad photo never stops a batch.
struct Fault {
  /// stable, for programs: lower case with dashes, "sheet-cut-by-frame"
  std::string code;
  Severity severity = Severity::warning;
  /// what was seen, with its numbers: "2 of 24 corners of sheet 3 lie outside the photo"
  std::string seen;
  /// what to do at the bench: "Move the phone back until every sheet is whole in the picture."
  std::string remedy;
  /// file name of the photo concerned, empty when it concerns the whole run
  std::string photo;
  /// name of the panel concerned, or empty
  std::string panel;
};

using Faults = std::vector<Fault>;

/// "note", "warning" or "refusal", as written in results.json.
std::string to_string(Severity severity);

/// True when any of the faults is a refusal.
bool has_refusal(const Faults& faults);

}  // namespace chalkfold
