// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/job_seams.h"

#include <set>

namespace chalkfold::job {
namespace {
using Json = nlohmann::json;
using Reader = JobReader;

constexpr const char* how_written =
    "must name a piece and an edge, like \"cushion top/2\", or edges in a row, \"cushion top/2-4\", or a part between "
    "two "
    "match marks, \"cushion top/2:1-3\"";

draft::SeamSide side_of(Reader& reader, const Json& json, const std::string& place, const char* key) {
  if (!json.contains(key)) {
    reader.fault(place, fmt::format("has no {}: both sides of a seam are needed", key));
    return {};
  }
  if (!json[key].is_string()) {
    reader.fault(Reader::inner(place, key), fmt::format("{}, it is {}", how_written, Reader::shown(json[key])));
    return {};
  }
  try {
    return draft::read_seam_side(plain_text(json[key].get<std::string>()));
  } catch (const UsageError& error) {
    reader.fault(Reader::inner(place, key), error.what());
    return {};
  }
}

draft::SeamAsked seam_of(Reader& reader, const Json& json, const std::string& place) {
  draft::SeamAsked seam;
  if (!reader.object(json, place, {"number", "a", "b", "ease_mm", "runs", "group", "order", "fit_on_seat", "note"}))
    return seam;
  seam.number = reader.whole(json, place, "number", 1, 9999).value_or(0);
  seam.a = side_of(reader, json, place, "a");
  seam.b = side_of(reader, json, place, "b");
  seam.ease = reader.number(json, place, "ease_mm", -200, 200).value_or(0);
  seam.run = reader
                 .one_of<draft::SeamRun>(json, place, "runs",
                                         {{"auto", draft::SeamRun::automatic},
                                          {"against", draft::SeamRun::against},
                                          {"with", draft::SeamRun::with}})
                 .value_or(draft::SeamRun::automatic);
  seam.group = reader.one_of<draft::SewingGroup>(json, place, "group",
                                                 {{"centre", draft::SewingGroup::centre},
                                                  {"sides", draft::SewingGroup::sides},
                                                  {"sides to centre", draft::SewingGroup::sides_to_centre},
                                                  {"closing", draft::SewingGroup::closing},
                                                  {"edge strip", draft::SewingGroup::edge_strip}});
  seam.order = reader.whole(json, place, "order", 1, 9999);
  seam.fit_on_seat = reader.flag(json, place, "fit_on_seat").value_or(false);
  seam.note = reader.text(json, place, "note").value_or("");
  return seam;
}

/// Numbers of their own are kept, the others take the free ones in turn.
void number_seams(Reader& reader, std::vector<draft::SeamAsked>& seams) {
  std::set<int> taken;
  for (std::size_t i = 0; i < seams.size(); ++i)
    if (seams[i].number > 0 && !taken.insert(seams[i].number).second)
      reader.fault(Reader::inner(Reader::item("seams", i), "number"),
                   fmt::format("{} is the number of another seam already", seams[i].number));
  int next = 1;
  for (draft::SeamAsked& seam : seams) {
    if (seam.number > 0) continue;
    while (taken.contains(next)) ++next;
    seam.number = next;
    taken.insert(next);
  }
}

}  // namespace

std::vector<draft::SeamAsked> read_seams(JobReader& reader, const Json& json) {
  std::vector<draft::SeamAsked> seams;
  const Json* list = reader.list(json, "", "seams");
  for (std::size_t i = 0; list && i < list->size(); ++i)
    seams.push_back(seam_of(reader, (*list)[i], Reader::item("seams", i)));
  number_seams(reader, seams);
  return seams;
}

void read_set(JobReader& reader, const Json& json, JobSet& set) {
  if (!json.contains("set")) return;
  const Json& of = json["set"];
  if (!reader.object(of, "set",
                     {"adjust", "wear_percent", "wear", "tolerance_mm", "tolerance_percent", "mark_tolerance_mm",
                      "move_limit_mm"}))
    return;
  set.adjust = reader.flag(of, "set", "adjust");
  if (const auto percent = reader.number(of, "set", "wear_percent", 0.01, 10)) set.wear = *percent / 100;
  set.wear_kind = reader.one_of<draft::WearKind>(
      of, "set", "wear", {{"stretched", draft::WearKind::stretched}, {"either", draft::WearKind::either}});
  set.tolerance = reader.number(of, "set", "tolerance_mm", 0.1, 50);
  if (const auto percent = reader.number(of, "set", "tolerance_percent", 0, 10)) set.tolerance_share = *percent / 100;
  set.mark_tolerance = reader.number(of, "set", "mark_tolerance_mm", 0.1, 50);
  set.move_limit = reader.number(of, "set", "move_limit_mm", 0.1, 100);
}

void check_seam_names(JobReader& reader, const JobFile& job) {
  for (std::size_t i = 0; i < job.seams.size(); ++i)
    for (const auto& [key, side] : {std::pair("a", &job.seams[i].a), std::pair("b", &job.seams[i].b)})
      for (const JobPanel& panel : job.panels)
        if (panel.kind != panel::PanelKind::panel && panel.name == side->piece)
          reader.fault(Reader::inner(Reader::item("seams", i), key),
                       fmt::format("\"{}\" is of kind {}: it is measured and not drafted, and has no edges to sew",
                                   panel.name, panel::to_string(panel.kind)));
  if (job.panels.empty() || !job.photos.empty() || !job.measured.empty()) return;  // files name panels as well
  std::vector<std::string> known;
  for (const JobPanel& panel : job.panels) known.push_back(panel.name);
  for (std::size_t i = 0; i < job.seams.size(); ++i)
    for (const auto& [key, side] : {std::pair("a", &job.seams[i].a), std::pair("b", &job.seams[i].b)}) {
      if (side->piece.empty() || std::find(known.begin(), known.end(), side->piece) != known.end()) continue;
      const std::string nearest = nearest_name(side->piece, known);
      reader.fault(Reader::inner(Reader::item("seams", i), key),
                   fmt::format("there is no panel \"{}\"{}", side->piece,
                               nearest.empty() ? "" : fmt::format("; did you mean \"{}\"?", nearest)));
    }
}

}  // namespace chalkfold::job
