// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/json/records.h"

#include <algorithm>
#include <iterator>

namespace chalkfold::output {

bool is_measured(const PanelRecord& record) {
  return record.panel.outline.points.size() >= 3 && !has_refusal(record.panel.faults);
}

std::vector<std::string> photo_names(const PanelRecord& record) {
  return record.photos.empty() ? std::vector<std::string>{record.panel.photo} : record.photos;
}

Faults all_faults(const Results& results) {
  Faults all = results.faults;
  for (const PhotoRecord& photo : results.photos) all.insert(all.end(), photo.faults.begin(), photo.faults.end());
  for (const PanelRecord& record : results.panels) {
    all.insert(all.end(), record.panel.faults.begin(), record.panel.faults.end());
    if (!record.change) continue;
    std::copy_if(record.change->faults.begin(), record.change->faults.end(), std::back_inserter(all),
                 [](const Fault& fault) { return fault.severity != Severity::refusal; });
  }
  for (const PieceRecord& record : results.pieces)
    all.insert(all.end(), record.piece.faults.begin(), record.piece.faults.end());
  for (const MaterialRecord& record : results.materials)
    all.insert(all.end(), record.need.faults.begin(), record.need.faults.end());
  if (results.sewing) all.insert(all.end(), results.sewing->sheet.faults.begin(), results.sewing->sheet.faults.end());
  return all;
}

std::vector<draft::Piece> last_pieces(const Results& results) {
  std::vector<draft::Piece> pieces;
  for (const PieceRecord& record : results.pieces) {
    pieces.push_back(record.piece);
    if (!results.set) continue;
    for (const PieceRecord& adjusted : results.set->adjusted)
      if (adjusted.piece.name == record.piece.name && !has_refusal(adjusted.piece.faults))
        pieces.back() = adjusted.piece;
  }
  return pieces;
}

MeasuredStock measured_stock(const MaterialRecord& record, const Results& results) {
  MeasuredStock stock;
  stock.needed = record.need.cut_area / record.need.options.usable_fraction;
  for (const std::size_t i : record.measured) {
    stock.usable += panel::usable_area(results.panels.at(i).panel);
    stock.usable_U += panel::usable_area_U(results.panels.at(i).panel);
  }
  return stock;
}

}  // namespace chalkfold::output
