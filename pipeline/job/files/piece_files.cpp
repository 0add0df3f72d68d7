// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/files/piece_files.h"

#include "pipeline/common/write_file.h"
#include "pipeline/job/files/write_files.h"
#include "pipeline/output/drawing/change_svg.h"
#include "pipeline/output/drawing/cutter_dxf.h"
#include "pipeline/output/drawing/piece_dxf.h"
#include "pipeline/output/drawing/piece_svg.h"
#include "pipeline/output/drawing/set_drawing.h"
#include "pipeline/output/json/piece_json.h"
#include "pipeline/output/pages/piece_pdf.h"

namespace chalkfold::job {
namespace fs = std::filesystem;

void make_piece_folders(const fs::path& out) {
  for (const fs::path& folder : {out / "pieces", out / "cutter"}) make_folder(folder);
}

namespace {

/// The files of a piece, in two folders that end with a slash.
std::vector<OutputFile> files_of(const draft::Piece& piece, const std::string& pieces, const std::string& cutters,
                                 const PieceFileOptions& options) {
  output::PieceDrawingOptions drawing;
  drawing.face = options.face;
  output::CutterOptions cutter;
  cutter.face = options.face;
  cutter.arcs = options.arcs;
  output::PdfPages pdf = options.pdf;
  pdf.face = options.face;
  const std::string stem = pieces + piece.name;
  return {{stem + ".dxf", output::piece_dxf(piece, drawing)},
          {stem + ".svg", output::piece_svg(piece, drawing)},
          {stem + ".pdf", output::piece_pdf(piece, pdf)},
          {stem + ".json", output::piece_json_text(piece)},
          {cutters + piece.name + ".dxf", output::cutter_dxf(piece, cutter)}};
}

/// Files and the picture of a change, all or none.
void write_with_picture(const fs::path& out, output::PieceRecord& record, std::vector<OutputFile> files,
                        const draft::ShapeChange& change, const std::string& picture) {
  for (const OutputFile& file : files) record.files.push_back(file.place);
  if (change.done) {
    record.change_picture = picture;
    files.push_back({picture, output::change_svg(change, record.piece, output::change_scale(change))});
  }
  write_all_or_none(out, files);
}

}  // namespace

void write_piece(const fs::path& out, output::PieceRecord& record, const PieceFileOptions& options) {
  record.files.clear();
  const draft::Piece& piece = record.piece;
  if (has_refusal(piece.faults)) return;
  write_with_picture(out, record, files_of(piece, "pieces/", "cutter/", options),
                     piece.pairing.done ? piece.pairing : piece.symmetry, "pictures/" + piece.name + " change.svg");
}

void make_adjusted_folders(const fs::path& out) {
  for (const fs::path& folder : {out / "adjusted", out / "adjusted" / "cutter"}) make_folder(folder);
}

void write_adjusted(const fs::path& out, output::PieceRecord& record, const draft::PieceMoves& moves,
                    const PieceFileOptions& options) {
  record.files.clear();
  if (has_refusal(record.piece.faults)) return;
  draft::ShapeChange change;
  change.done = record.piece.adjusted;
  change.rms = moves.rms;
  change.largest = moves.largest;
  change.before = moves.before;
  change.moves = moves.moves;
  write_with_picture(out, record, files_of(record.piece, "adjusted/", "adjusted/cutter/", options), change,
                     "pictures/" + record.piece.name + " adjusted.svg");
}

std::vector<std::string> write_set(const fs::path& out, const std::vector<output::PieceRecord>& pieces,
                                   const PieceFileOptions& options, const std::string& folder) {
  std::vector<draft::Piece> good;
  for (const output::PieceRecord& record : pieces)
    if (!has_refusal(record.piece.faults)) good.push_back(record.piece);
  if (good.empty()) return {};
  output::SetOptions set;
  set.drawing.face = options.face;
  const std::string stem = folder + "set";
  write_all_or_none(out, {{stem + ".dxf", output::set_dxf(good, set)}, {stem + ".svg", output::set_svg(good, set)}});
  return {stem + ".dxf", stem + ".svg"};
}

}  // namespace chalkfold::job
