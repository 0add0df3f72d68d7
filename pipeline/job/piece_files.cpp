// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/piece_files.h"

#include "pipeline/common/error.h"
#include "pipeline/common/write_file.h"
#include "pipeline/job/write_files.h"
#include "pipeline/output/cautions.h"
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

void write_piece(const fs::path& out, PieceRecord& record, const PieceFileOptions& options) {
  record.files.clear();
  const Piece& piece = record.piece;
  if (has_refusal(piece.faults)) return;
  PieceDrawingOptions drawing;
  drawing.face = options.face;
  CutterOptions cutter;
  cutter.face = options.face;
  cutter.arcs = options.arcs;
  PdfPages pdf = options.pdf;
  pdf.face = options.face;
  const std::string stem = "pieces/" + piece.name;
  std::vector<OutputFile> files = {{stem + ".dxf", piece_dxf(piece, drawing)},
                                   {stem + ".svg", piece_svg(piece, drawing)},
                                   {stem + ".pdf", piece_pdf(piece, pdf)},
                                   {stem + ".json", piece_json_text(piece)},
                                   {"cutter/" + piece.name + ".dxf", cutter_dxf(piece, cutter)}};
  for (const OutputFile& file : files) record.files.push_back(file.place);
  const ShapeChange& change = piece.pairing.done ? piece.pairing : piece.symmetry;
  if (change.done) {
    record.change_picture = "pictures/" + piece.name + " change.svg";
    files.push_back({record.change_picture, change_svg(change, piece, change_scale(change))});
  }
  write_all_or_none(out, files);
}

std::vector<std::string> write_set(const fs::path& out, const std::vector<PieceRecord>& pieces,
                                   const PieceFileOptions& options) {
  std::vector<Piece> good;
  for (const PieceRecord& record : pieces)
    if (!has_refusal(record.piece.faults)) good.push_back(record.piece);
  if (good.empty()) return {};
  SetOptions set;
  set.drawing.face = options.face;
  write_all_or_none(out, {{"set.dxf", set_dxf(good, set)}, {"set.svg", set_svg(good, set)}});
  return {"set.dxf", "set.svg"};
}

}  // namespace chalkfold
