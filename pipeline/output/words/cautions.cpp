// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/words/cautions.h"

namespace chalkfold::output {

namespace {
std::string lower_case(std::string words) {
  for (char& c : words) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return words;
}
}  // namespace

bool may_cover_airbag(const draft::Piece& piece) {
  const std::string words = lower_case(piece.name + " " + piece.part);
  return words.find("side") != std::string::npos || words.find("bolster") != std::string::npos;
}

std::string airbag_caution() {
  return "Side of a seat: an airbag may sit behind this piece, and a seat belt beside it. A cover over an airbag must "
         "open where the vehicle's maker meant it to. Follow the maker's instructions for that seam, its thread and "
         "its "
         "material, and leave the work to a shop that is licensed for it; local codes come first. Never sew over, cut "
         "or move a seat belt.";
}

std::string airbag_caution_short() {
  return "Side of a seat: mind the airbag and the seat belt, see the caution at the top of the sewing sheet.";
}

bool may_be_glued(const draft::Piece& piece) {
  const std::string words = lower_case(piece.name + " " + piece.part + " " + piece.material);
  for (const char* word : {"foam", "backing", "scrim", "fleece", "wadding"})
    if (words.find(word) != std::string::npos) return true;
  return false;
}

std::string glue_caution() {
  return "Spray glue: open the windows, no flame, wear the mask that the can asks for, do not breathe the fumes.";
}

std::string ring_caution() {
  return "Hog-ring pliers pinch and the rings' ends are sharp: wear eye protection, keep fingers out of the jaws.";
}

std::string workshop_caution() {
  return "Knives, needles and hog-ring pliers wound: cut and pull away from your hands. Spray glue: open the windows, "
         "no flame, do not breathe the fumes.";
}

}  // namespace chalkfold::output
