// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "pipeline/draft/piece/piece.h"

namespace chalkfold::output {

/// Version of pieces/NAME.json.
inline constexpr const char* piece_schema = "chalkfold-piece-1";

/// pieces/NAME.json as piece.schema.json describes it: all of the piece in its own frame (mm, rad, y up). Numbers are
/// written in full, so that they read back to the same bits; of a curve's segment, only what its kind uses is kept.
/// Texts go through plain_text. Throws std::logic_error for a number that is not finite.
nlohmann::ordered_json piece_json(const draft::Piece& piece);

/// The file's bytes.
std::string piece_json_text(const draft::Piece& piece);

/// The piece that piece_json wrote. `where` names the file in messages. Throws FileError, naming file and key, for a key
/// that is missing or unknown, a value of the wrong kind, an outline that is none, and a schema other than piece_schema.
draft::Piece read_piece(const nlohmann::json& json, const std::string& where);

/// The same from the file's bytes, which may be cut short.
draft::Piece read_piece_text(std::string_view bytes, const std::string& where);

}  // namespace chalkfold::output
