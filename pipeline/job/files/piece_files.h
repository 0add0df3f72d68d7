// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <vector>

#include "pipeline/job/plan/run_options.h"
#include "pipeline/output/json/results.h"

namespace chalkfold::job {

/// Makes OUT/pieces and OUT/cutter. Throws FileError when one cannot be made.
void make_piece_folders(const std::filesystem::path& out);

/// Writes pieces/NAME.{dxf,svg,pdf,json}, cutter/NAME.dxf and, when something was moved, pictures/NAME change.svg, and enters them in
/// the record; nothing of a refused piece. All or none, as write_panel. Throws FileError.
void write_piece(const std::filesystem::path& out, output::PieceRecord& record, const PieceFileOptions& options);

/// Makes OUT/adjusted and OUT/adjusted/cutter. Throws FileError when one cannot be made.
void make_adjusted_folders(const std::filesystem::path& out);

/// The same for an adjusted piece: adjusted/NAME.{dxf,svg,pdf,json}, adjusted/cutter/NAME.dxf, and pictures/NAME adjusted.svg when it was
/// moved. Throws FileError.
void write_adjusted(const std::filesystem::path& out, output::PieceRecord& record, const draft::PieceMoves& moves,
                    const PieceFileOptions& options);

/// Writes set.dxf and set.svg of the pieces that were not refused; their places relative to OUT, none when there is no such piece.
/// `folder` ends with a slash, or is empty for OUT itself.
std::vector<std::string> write_set(const std::filesystem::path& out, const std::vector<output::PieceRecord>& pieces,
                                   const PieceFileOptions& options, const std::string& folder = "");

}  // namespace chalkfold::job
