// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "pipeline/draft/change/dimensional_change.h"

namespace chalkfold::output {

/// What a panel is compared with: an outline or two numbers.
using Reference = std::variant<draft::ComparedShape, draft::NominalSize>;

/// A shape and what had to be assumed when it was read.
struct ReadShape {
  draft::ComparedShape shape;
  /// or empty
  std::string remark;
};

/// The shape in a file, by what its bytes are and not by its name: measured/NAME.json, pieces/NAME.json (its cut or sew line), DXF, SVG.
/// `where` names the file in messages. Throws FileError that says what to do.
ReadShape read_shape(std::string_view bytes, const std::string& where, draft::PieceLine line);

/// The change of a measured shape against either kind of reference. What the comparison cannot cope with is a refusal (comparison-failed),
/// not an exception. Throws UsageError of wrong options.
draft::DimensionalChange compared_with(const Reference& reference, const draft::ComparedShape& measured,
                                       const draft::ChangeOptions& options = {});

/// "600x450", "600 x 450 mm": a length along the grain and a width across it. Nothing when the text is none. Throws UsageError for numbers
/// that are no panel's (10 to 10000 mm).
std::optional<draft::NominalSize> parse_size(const std::string& text);
draft::NominalSize checked_size(double length, double width);

}  // namespace chalkfold::output
