// SPDX-License-Identifier: Apache-2.0
#include "pipeline/job/plan/job_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "pipeline/common/error.h"
#include "pipeline/common/nearest_name.h"
#include "pipeline/common/utf8.h"
#include "pipeline/job/plan/job_lists.h"
#include "pipeline/job/plan/job_reader.h"
#include "pipeline/job/plan/job_seams.h"
#include "pipeline/job/plan/panel_names.h"

namespace chalkfold::job {
namespace {
using Json = nlohmann::json;
using Reader = JobReader;

const std::vector<std::string> settings_keys{"side",         "thickness_mm",          "symmetric", "fold",
                                             "allowance_mm", "existing_allowance_mm", "quantity",  "material"};

PanelSettings settings(Reader& reader, const Json& json, const std::string& place) {
  PanelSettings s;
  s.side =
      reader.one_of<draft::Side>(json, place, "side", {{"inside", draft::Side::inside}, {"face", draft::Side::face}});
  s.thickness = reader.number(json, place, "thickness_mm", 0, 50);
  s.symmetric = reader.one_of<draft::Symmetric>(
      json, place, "symmetric",
      {{"auto", draft::Symmetric::automatic}, {"yes", draft::Symmetric::yes}, {"no", draft::Symmetric::no}});
  s.fold = reader.one_of<draft::Fold>(
      json, place, "fold", {{"mean", draft::Fold::mean}, {"left", draft::Fold::left}, {"right", draft::Fold::right}});
  s.allowance = reader.number(json, place, "allowance_mm", 0, 100);
  if (json.contains("existing_allowance_mm") && json["existing_allowance_mm"] == "measured") {
    s.existing_measured = true;
  } else {
    s.existing_allowance = reader.number(json, place, "existing_allowance_mm", 0, 100);
    if (s.existing_allowance) s.existing_measured = false;
  }
  s.quantity = reader.whole(json, place, "quantity", 1, 1000);
  s.material = reader.text(json, place, "material");
  return s;
}

std::map<int, double> edge_allowances(Reader& reader, const Json& json, const std::string& place) {
  std::map<int, double> out;
  if (!json.contains("edge_allowances_mm")) return out;
  const std::string at = Reader::inner(place, "edge_allowances_mm");
  if (!json["edge_allowances_mm"].is_object()) {
    reader.fault(at, "must be an object from edge numbers to millimetres, like {\"3\": 15}");
    return out;
  }
  for (const auto& [key, value] : json["edge_allowances_mm"].items()) {
    const bool edge = !key.empty() && key.size() < 4 &&
                      std::all_of(key.begin(), key.end(), [](char c) { return c >= '0' && c <= '9'; }) &&
                      std::stoi(key) > 0;
    const bool width = value.is_number() && value.get<double>() >= 0 && value.get<double>() <= 100;
    if (!edge || !width)
      reader.fault(Reader::inner(at, key),
                   fmt::format("must be an edge's number with 0 to 100 mm, it is {}", Reader::shown(value)));
    else
      out[std::stoi(key)] = value.get<double>();
  }
  return out;
}

/// A file's name, or an object with the size.
std::optional<JobReference> reference_of(Reader& reader, const Json& json, const std::string& place,
                                         const std::filesystem::path& folder) {
  if (!json.contains("reference")) return std::nullopt;
  const Json& given = json["reference"];
  const std::string at = Reader::inner(place, "reference");
  JobReference reference;
  if (given.is_string() && !given.get<std::string>().empty()) {
    const std::filesystem::path file(given.get<std::string>());
    reference.file = file.is_absolute() ? file : folder / file;
    return reference;
  }
  if (!given.is_object()) {
    reader.fault(at,
                 fmt::format("must be a file's name in quotes, or {{\"length_mm\": ..., \"width_mm\": ...}}, it is {}",
                             Reader::shown(given)));
    return std::nullopt;
  }
  if (!reader.object(given, at, {"length_mm", "width_mm"})) return std::nullopt;
  const auto length = reader.number(given, at, "length_mm", 10, 10000),
             width = reader.number(given, at, "width_mm", 10, 10000);
  if (!given.contains("length_mm") || !given.contains("width_mm"))
    reader.fault(at, "needs both length_mm (along the grain) and width_mm (across it)");
  if (!length || !width) return std::nullopt;
  reference.size = {*length, *width};
  return reference;
}

bool compensate_of(Reader& reader, const Json& json, const std::string& place) {
  if (!json.contains("compensate")) return false;
  const std::string at = Reader::inner(place, "compensate");
  if (!json["compensate"].is_boolean()) {
    reader.fault(at, fmt::format("must be true or false, it is {}", Reader::shown(json["compensate"])));
    return false;
  }
  if (json["compensate"].get<bool>() && !json.contains("reference"))
    reader.fault(at, "needs a reference, which tells by how much the panel changed");
  return json["compensate"].get<bool>();
}

/// What is measured only has nothing to be drafted or sewn by.
void check_measured_only(Reader& reader, const Json& json, const std::string& place, panel::PanelKind kind) {
  static const std::vector<std::string> allowed{"name", "kind", "photos", "tag", "side", "thickness_mm", "material"};
  if (kind == panel::PanelKind::panel) return;
  for (const auto& [key, value] : json.items())
    if (std::find(allowed.begin(), allowed.end(), key) == allowed.end())
      reader.fault(
          Reader::inner(place, key),
          fmt::format("{} {} is measured and not drafted; leave this key out (it may have {})",
                      kind == panel::PanelKind::offcut ? "an" : "a", panel::to_string(kind), fmt::join(allowed, ", ")));
}

JobPanel panel_of(Reader& reader, const Json& json, const std::string& place, const std::filesystem::path& folder,
                  bool known_by_name, std::map<std::filesystem::path, survey::PhotoSaid>& said) {
  JobPanel panel;
  std::vector<std::string> known{
      "name",      "part",       "photos", "tag",   "pair_of",      "grain_deg", "edge_allowances_mm",
      "reference", "compensate", "role",   "fixed", "wear_percent", "kind"};
  known.insert(known.end(), settings_keys.begin(), settings_keys.end());
  if (!reader.object(json, place, known)) return panel;
  panel.name = reader.text(json, place, "name").value_or("");
  if (panel.name.empty() && !(json.contains("name") && !json["name"].is_string())) reader.fault(place, "has no name");
  if (!panel.name.empty() && safe_name(panel.name) != panel.name)
    reader.fault(Reader::inner(place, "name"),
                 fmt::format("cannot be the name of a file; \"{}\" can", safe_name(panel.name)));
  panel.kind = reader
                   .one_of<panel::PanelKind>(json, place, "kind",
                                             {{"panel", panel::PanelKind::panel},
                                              {"hide", panel::PanelKind::hide},
                                              {"offcut", panel::PanelKind::offcut}})
                   .value_or(panel::PanelKind::panel);
  check_measured_only(reader, json, place, panel.kind);
  panel.part = reader.text(json, place, "part").value_or("");
  panel.photos = read_photo_list(reader, json, place, folder, said);
  panel.tag = reader.whole(json, place, "tag", 1, 99);
  panel.pair_of = reader.text(json, place, "pair_of").value_or("");
  panel.grain_deg = reader.number(json, place, "grain_deg", -360, 360);
  panel.edge_allowances = edge_allowances(reader, json, place);
  panel.reference = reference_of(reader, json, place, folder);
  panel.compensate = compensate_of(reader, json, place);
  panel.role = reader.one_of<draft::PieceRole>(json, place, "role",
                                               {{"centre", draft::PieceRole::centre},
                                                {"side", draft::PieceRole::side},
                                                {"edge strip", draft::PieceRole::edge_strip}});
  panel.own = settings(reader, json, place);
  panel.fixed = reader.flag(json, place, "fixed").value_or(false);
  if (const auto percent = reader.number(json, place, "wear_percent", 0, 10)) panel.wear = *percent / 100;
  if (!json.contains("tag") && !json.contains("photos") && !known_by_name)
    reader.fault(place, "needs photos or a tag, so that its panel can be known");
  return panel;
}

void check_panels(Reader& reader, const std::vector<JobPanel>& panels) {
  std::map<std::string, std::size_t> names;
  std::map<int, std::size_t> tags;
  std::vector<std::string> known;
  known.reserve(panels.size());
  for (const JobPanel& panel : panels) known.push_back(panel.name);
  for (std::size_t i = 0; i < panels.size(); ++i) {
    const std::string place = Reader::item("panels", i);
    if (!panels[i].name.empty() && !names.emplace(lower_case(panels[i].name), i).second)
      reader.fault(Reader::inner(place, "name"),
                   fmt::format("\"{}\" is panels[{}] already; capitals do not tell names apart", panels[i].name,
                               names[lower_case(panels[i].name)]));
    if (panels[i].tag && !tags.emplace(*panels[i].tag, i).second)
      reader.fault(Reader::inner(place, "tag"),
                   fmt::format("{} is the tag of panels[{}] already", *panels[i].tag, tags[*panels[i].tag]));
    const std::string& other = panels[i].pair_of;
    if (other.empty()) continue;
    if (other == panels[i].name) {
      reader.fault(Reader::inner(place, "pair_of"), "names the panel itself");
    } else if (std::find(known.begin(), known.end(), other) == known.end()) {
      const std::string nearest = nearest_name(other, known);
      reader.fault(Reader::inner(place, "pair_of"),
                   fmt::format("there is no panel \"{}\"{}", other,
                               nearest.empty() ? "" : fmt::format("; did you mean \"{}\"?", nearest)));
    } else if (panels[static_cast<std::size_t>(std::find(known.begin(), known.end(), other) - known.begin())].kind !=
               panel::PanelKind::panel) {
      reader.fault(Reader::inner(place, "pair_of"),
                   fmt::format("\"{}\" is not drafted: only a panel can be its pair", other));
    }
  }
}

void read_print(Reader& reader, const Json& json, survey::PrintCheck& print) {
  if (!json.contains("print") || !reader.object(json["print"], "print", {"long_bar_mm", "short_bar_mm", "sigma_mm"}))
    return;
  print.long_bar_mm = reader.number(json["print"], "print", "long_bar_mm", 204, 276);
  print.short_bar_mm = reader.number(json["print"], "print", "short_bar_mm", 144.5, 195.5);
  print.sigma_mm = reader.number(json["print"], "print", "sigma_mm", 0.001, 5).value_or(print.sigma_mm);
}

void read_tape(Reader& reader, const Json& json, std::vector<survey::TapeDistance>& tape) {
  const Json* list = reader.list(json, "", "tape");
  for (std::size_t i = 0; list && i < list->size(); ++i) {
    const std::string place = Reader::item("tape", i);
    const Json& one = (*list)[i];
    if (!reader.object(one, place, {"sheets", "mm", "sigma_mm"})) continue;
    survey::TapeDistance distance;
    const auto sheet = [&](std::size_t k) {
      return one["sheets"][k].is_number_integer() && one["sheets"][k] >= 1 && one["sheets"][k] <= 20;
    };
    if (!one.contains("sheets") || !one["sheets"].is_array() || one["sheets"].size() != 2 || !sheet(0) || !sheet(1) ||
        one["sheets"][0] == one["sheets"][1]) {
      reader.fault(Reader::inner(place, "sheets"), "must be two different sheet numbers from 1 to 20, like [1, 3]");
    } else {
      distance.sheet_a = one["sheets"][0];
      distance.sheet_b = one["sheets"][1];
    }
    const auto mm = reader.number(one, place, "mm", 150, 20000);
    if (!one.contains("mm")) reader.fault(place, "has no mm, the distance between the two sheets' centre crosses");
    distance.mm = mm.value_or(0);
    distance.sigma_mm = reader.number(one, place, "sigma_mm", 0.01, 50).value_or(distance.sigma_mm);
    tape.push_back(distance);
  }
}

draft::MaterialOptions material_of(Reader& reader, const Json& json, const std::string& place) {
  draft::MaterialOptions o;
  if (!reader.object(
          json, place,
          {"kind", "roll_width_mm", "usable_width_mm", "either_way", "gap_mm", "hide_m2", "usable_fraction"}))
    return o;
  o.kind = reader.one_of<draft::MaterialKind>(json, place, "kind",
                                              {{"woven", draft::MaterialKind::woven},
                                               {"artificial leather", draft::MaterialKind::artificial_leather},
                                               {"leather", draft::MaterialKind::leather},
                                               {"other", draft::MaterialKind::other}});
  o.roll_width = reader.number(json, place, "roll_width_mm", 100, 5000).value_or(o.roll_width);
  o.usable_width = reader.number(json, place, "usable_width_mm", 100, o.roll_width);
  o.either_way = reader.flag(json, place, "either_way").value_or(o.either_way);
  o.gap = reader.number(json, place, "gap_mm", 0, 50).value_or(o.gap);
  const auto hide = reader.number(json, place, "hide_m2", 0.1, 20);
  if (hide) o.hide_area = *hide * draft::mm2_per_m2;
  o.usable_fraction = reader.number(json, place, "usable_fraction", 0.1, 1).value_or(o.usable_fraction);
  return o;
}

void read_materials(Reader& reader, const Json& json, std::map<std::string, draft::MaterialOptions>& materials) {
  if (!json.contains("materials")) return;
  if (!json["materials"].is_object()) {
    reader.fault("materials", "must be an object from the panels' materials to what is known of them");
    return;
  }
  for (const auto& [name, one] : json["materials"].items())
    materials[plain_text(name)] = material_of(reader, one, Reader::inner("materials", name));
}

void read_sewing(Reader& reader, const Json& json, draft::StitchOptions& stitch) {
  if (!json.contains("sewing") || !reader.object(json["sewing"], "sewing", {"stitch_mm", "thickness_mm", "waste"}))
    return;
  stitch.stitch = reader.number(json["sewing"], "sewing", "stitch_mm", 1, 20).value_or(stitch.stitch);
  stitch.thickness = reader.number(json["sewing"], "sewing", "thickness_mm", 0, 50).value_or(stitch.thickness);
  stitch.waste = reader.number(json["sewing"], "sewing", "waste", 0, 1).value_or(stitch.waste);
}

}  // namespace

JobFile read_job_file(std::string_view bytes, const std::string& where, const std::filesystem::path& folder) {
  Json json;
  try {
    json = Json::parse(bytes, nullptr, true, true);
  } catch (const Json::parse_error& e) {
    const auto at = std::min<std::size_t>(e.byte == 0 ? 0 : e.byte - 1, bytes.size());
    const auto line = 1 + std::count(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(at), '\n');
    throw UsageError(fmt::format(
        "{}, line {}: this is no JSON from here on: a comma, quote or bracket is missing or too many just before",
        where, line));
  }
  Reader reader(bytes, where);
  JobFile job;
  if (reader.object(json, "",
                    {"job", "phone", "print", "tape", "lens", "defaults", "photos", "panels", "measured", "seams",
                     "set", "materials", "sewing"})) {
    job.job = reader.text(json, "", "job").value_or("");
    job.phone = reader.text(json, "", "phone").value_or("");
    read_print(reader, json, job.print);
    read_tape(reader, json, job.tape);
    if (const auto lens = reader.text(json, "", "lens"); lens && !lens->empty()) job.lens = folder / *lens;
    if (json.contains("defaults") && reader.object(json["defaults"], "defaults", settings_keys))
      job.defaults = settings(reader, json["defaults"], "defaults");
    job.photos = read_photo_list(reader, json, "", folder, job.said);
    const Json* list = reader.list(json, "", "panels");
    for (std::size_t i = 0; list && i < list->size(); ++i)
      job.panels.push_back(
          panel_of(reader, (*list)[i], Reader::item("panels", i), folder, json.contains("measured"), job.said));
    check_panels(reader, job.panels);
    read_materials(reader, json, job.materials);
    read_sewing(reader, json, job.stitch);
    job.measured = read_file_list(reader, json, "", "measured", "a measured panel's file name", folder);
    job.seams = read_seams(reader, json);
    read_set(reader, json, job.set);
    check_seam_names(reader, job);
    if (!json.contains("photos") && !json.contains("panels") && !json.contains("measured"))
      reader.fault("", "names neither photos nor panels");
  }
  reader.finish();
  for (const JobPanel& panel : job.panels)
    for (const std::filesystem::path& photo : panel.photos)
      if (std::find(job.photos.begin(), job.photos.end(), photo) == job.photos.end()) job.photos.push_back(photo);
  if (job.photos.empty() && job.measured.empty())
    throw UsageError(fmt::format("{}: no photo is named in it; list them under photos", where));
  return job;
}

draft::DraftOptions draft_options_of(const JobPanel& panel, const JobFile& job, const draft::DraftOptions& base,
                                     std::optional<double> existing) {
  draft::DraftOptions o = base;
  o.job = job.job;
  o.part = panel.part;
  for (const PanelSettings* s : {&job.defaults, &panel.own}) {
    o.side = s->side.value_or(o.side);
    o.symmetry.symmetric = s->symmetric.value_or(o.symmetry.symmetric);
    o.symmetry.fold = s->fold.value_or(o.symmetry.fold);
    o.allowance = s->allowance.value_or(o.allowance);
    if (s->existing_allowance) existing = s->existing_allowance;
    o.existing_measured = s->existing_measured.value_or(o.existing_measured);
    o.quantity = s->quantity.value_or(o.quantity);
    o.material = s->material.value_or(o.material);
  }
  o.existing_allowance = existing.value_or(o.allowance);
  if (panel.grain_deg) o.grain_deg = panel.grain_deg;
  for (const auto& [edge, allowance] : panel.edge_allowances) o.edge_allowances[edge] = allowance;
  return o;
}

}  // namespace chalkfold::job
