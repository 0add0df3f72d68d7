// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/piece_files.h"

#include "pipeline/common/write_file.h"
#include "pipeline/job/write_files.h"
#include "pipeline/output/change_svg.h"
#include "pipeline/output/cutter_dxf.h"
#include "pipeline/output/piece_dxf.h"
#include "pipeline/output/piece_json.h"
#include "pipeline/output/piece_pdf.h"
#include "pipeline/output/piece_svg.h"
#include "pipeline/output/set_drawing.h"

namespace chalkfold {
namespace fs = std::filesystem;

void make_piece_folders(const fs::path& out) {
  for (const fs::path& folder : {out / "pieces", out / "cutter"}) make_folder(folder);
}

namespace {

/// The files of a piece, in two folders that end with a slash.
std::vector<OutputFile> files_of(const Piece& piece, const std::string& pieces, const std::string& cutters,
                                 const PieceFileOptions& options) {
  PieceDrawingOptions drawing;
  drawing.face = options.face;
  CutterOptions cutter;
  cutter.face = options.face;
  cutter.arcs = options.arcs;
  PdfPages pdf = options.pdf;
  pdf.face = options.face;
  const std::string stem = pieces + piece.name;
  return {{stem + ".dxf", piece_dxf(piece, drawing)},
          {stem + ".svg", piece_svg(piece, drawing)},
          {stem + ".pdf", piece_pdf(piece, pdf)},
          {stem + ".json", piece_json_text(piece)},
          {cutters + piece.name + ".dxf", cutter_dxf(piece, cutter)}};
}

/// Files and the picture of a change, all or none.
void write_with_picture(const fs::path& out, PieceRecord& record, std::vector<OutputFile> files,
                        const ShapeChange& change, const std::string& picture) {
  for (const OutputFile& file : files) record.files.push_back(file.place);
  if (change.done) {
    record.change_picture = picture;
    files.push_back({picture, change_svg(change, record.piece, change_scale(change))});
  }
  write_all_or_none(out, files);
}

}  // namespace

void write_piece(const fs::path& out, PieceRecord& record, const PieceFileOptions& options) {
  record.files.clear();
  const Piece& piece = record.piece;
  if (has_refusal(piece.faults)) return;
  write_with_picture(out, record, files_of(piece, "pieces/", "cutter/", options),
                     piece.pairing.done ? piece.pairing : piece.symmetry, "pictures/" + piece.name + " change.svg");
}

void make_adjusted_folders(const fs::path& out) {
  for (const fs::path& folder : {out / "adjusted", out / "adjusted" / "cutter"}) make_folder(folder);
}

void write_adjusted(const fs::path& out, PieceRecord& record, const PieceMoves& moves,
                    const PieceFileOptions& options) {
  record.files.clear();
  if (has_refusal(record.piece.faults)) return;
  ShapeChange change;
  change.done = record.piece.adjusted;
  change.rms = moves.rms;
  change.largest = moves.largest;
  change.before = moves.before;
  change.moves = moves.moves;
  write_with_picture(out, record, files_of(record.piece, "adjusted/", "adjusted/cutter/", options), change,
                     "pictures/" + record.piece.name + " adjusted.svg");
}

std::vector<std::string> write_set(const fs::path& out, const std::vector<PieceRecord>& pieces,
                                   const PieceFileOptions& options, const std::string& folder) {
  std::vector<Piece> good;
  for (const PieceRecord& record : pieces)
    if (!has_refusal(record.piece.faults)) good.push_back(record.piece);
  if (good.empty()) return {};
  SetOptions set;
  set.drawing.face = options.face;
  const std::string stem = folder + "set";
  write_all_or_none(out, {{stem + ".dxf", set_dxf(good, set)}, {stem + ".svg", set_svg(good, set)}});
  return {stem + ".dxf", stem + ".svg"};
}

}  // namespace chalkfold
