// SPDX-License-Identifier: Apache-2.0
#include "demo/scenes/random_parts.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "calib/sheet_layout.h"
#include "demo/design/tool_shapes.h"

namespace chalkfold::demo {

namespace {

struct TableChoice {
  TableTop top;
  std::uint32_t srgb;
};
constexpr std::array<TableChoice, 9> tables = {{{TableTop::wood, 0xD8B283},
                                                {TableTop::wood, 0x8A5F3C},
                                                {TableTop::worn_wood, 0x6B4A32},
                                                {TableTop::cement, 0xA5A49F},
                                                {TableTop::cement, 0x6F706F},
                                                {TableTop::laminate, 0xD5D0C6},
                                                {TableTop::cloth, 0x24272B},
                                                {TableTop::plain, 0xE2E0DA},
                                                {TableTop::plain, 0x3A3D40}}};

struct Dye {
  std::uint32_t first, second;
};
constexpr std::array<Dye, 10> dyes = {{{0x262A2E, 0x4A5058},
                                       {0x2B3A55, 0x6F86A8},
                                       {0x7A2F2B, 0xC9A27E},
                                       {0xB98A57, 0x7B5733},
                                       {0xD9CDB4, 0xA8977A},
                                       {0x5C636B, 0x8C949C},
                                       {0x3E5A45, 0x93A98B},
                                       {0xE6E2DA, 0x8FA3B5},
                                       {0x8A6A4C, 0xC9B08E},
                                       {0x6E4B6A, 0xB79AB0}}};

double ratio(float a, float b) { return std::max(a, b) / std::max(1e-4F, std::min(a, b)); }

double least_contrast(const Material& m, const Colour& table) {
  const double first = ratio(luminance(m.colour), luminance(table));
  return patterned(m.covering) ? std::min(first, ratio(luminance(m.second), luminance(table))) : first;
}

/// True when a tag lying here can only be meant for this panel.
bool belongs_to(const Polyline& card, const Scene& scene, const LaidPanel& panel) {
  constexpr double clearly = 20;  // mm nearer than to any other panel
  const double own = gap_between(panel.outline, card);
  return std::all_of(scene.panels.begin(), scene.panels.end(), [&](const LaidPanel& other) {
    return &other == &panel || gap_between(other.outline, card) > own + clearly;
  });
}

}  // namespace

double clipped_normal(Random& random, double sigma) { return sigma * std::clamp(random.normal(), -2.0, 2.0); }

calib::Lens random_lens(Random& random, const RandomSceneOptions& o, Scene& scene) {
  calib::Lens phone = phone_lens(o.width_px);
  phone.focal_px *= random.uniform(0.95, 1.05);
  phone.k1 = random.uniform(0.05, 0.1);
  phone.k2 = random.uniform(-0.19, -0.12);
  phone.k3 = random.uniform(0, 0.03);
  phone.p1 = random.uniform(-0.0004, 0.0004);
  phone.p2 = random.uniform(-0.0004, 0.0004);
  scene.focal_35mm = focal_35mm(phone);
  const double change = clipped_normal(random, o.focal_change_sigma);
  const double dx = clipped_normal(random, o.centre_shift_sigma_px),
               dy = clipped_normal(random, o.centre_shift_sigma_px);
  return for_one_photo(phone, change, {dx, dy});
}

Material random_material(Random& random) {
  constexpr std::array kinds = {Covering::vinyl,    Covering::leather, Covering::woven,
                                Covering::corduroy, Covering::check,   Covering::stripe};
  const Dye& dye = dyes[static_cast<std::size_t>(random.integer(0, static_cast<int>(dyes.size()) - 1))];
  Material m;
  m.covering = kinds[static_cast<std::size_t>(random.integer(0, static_cast<int>(kinds.size()) - 1))];
  m.colour = colour_from_srgb(dye.first);
  m.second = colour_from_srgb(dye.second);
  m.period = static_cast<float>(random.uniform(14, 40));
  m.seed = static_cast<std::uint32_t>(random.next());
  return m;
}

LayOptions lay_options(Random& random, const PanelDesign& design, const PanelLook& look) {
  const bool light_cloth = luminance(mean_reflectance(look.material)) > 0.25F;
  LayOptions lay{.table_from_panel = {}, .thickness = look.thickness, .tag = look.tag, .material = look.material};
  lay.wear = {design.symmetric ? random.uniform(0, 2) : 0.0, random.uniform(0, 2.5)};
  lay.frayed = look.frayed;
  lay.longest_fray = look.longest_fray;
  lay.loose_threads = look.frayed ? random.integer(look.loose_min, look.loose_max) : 0;
  lay.chalked = look.chalked;
  lay.chalk = light_cloth ? colour_from_srgb(0x31589B) : Colour{0.85F, 0.85F, 0.82F};
  lay.chalk_width = random.uniform(1.2, 2.6);
  lay.seed = random.next();
  return lay;
}

bool add_panel(Random& random, const PanelDesign& design, const PanelLook& look, Scene& scene) {
  LayOptions lay = lay_options(random, design, look);
  const std::vector<Thing> taken = things(scene);
  for (int trial = 0; trial < 40; ++trial) {
    const double direction = random.uniform(0, full_turn), away = scene.panels.empty() ? 0 : 150 + 12.0 * trial;
    lay.table_from_panel = {random.uniform(0, full_turn), away * Vec2(std::cos(direction), std::sin(direction))};
    LaidPanel panel = lay_panel(design, lay);
    constexpr double gap = 22;  // mm, room for frayed threads
    if (least_gap(taken, panel.outline) < gap) continue;
    scene.panels.push_back(std::move(panel));
    return true;
  }
  return false;
}

Table random_table(Random& random, const Material& material, const RandomSceneOptions& o) {
  Table t;
  for (int trial = 0; trial < 200; ++trial) {
    const TableChoice& choice =
        tables[static_cast<std::size_t>(random.integer(0, static_cast<int>(tables.size()) - 1))];
    t.top = choice.top;
    t.colour = colour_from_srgb(choice.srgb);
    if (o.contrast > 0 || least_contrast(material, t.colour) >= o.contrast_min) break;
  }
  t.turn = static_cast<float>(random.uniform(0, full_turn));
  t.seed = static_cast<std::uint32_t>(random.next());
  if (o.contrast > 0) {
    constexpr double lightest = 0.75;
    const double panel = luminance(mean_reflectance(material));
    const double wanted = panel * o.contrast <= lightest ? panel * o.contrast : panel / o.contrast;
    t.colour = t.colour * static_cast<float>(wanted / luminance(t.colour));
  }
  return t;
}

double least_gap(const std::vector<Thing>& taken, const Polyline& border) {
  double best = 1e9;
  for (const Thing& t : taken) best = std::min(best, gap_between(t.border, border));
  return best;
}

std::optional<Vec2> slid_out(const std::vector<Thing>& taken, const Vec2& from, double direction, double theta,
                             const Vec2& size, double gap, double reach) {
  constexpr double step = 12;  // mm
  for (int k = 0; k * step < reach; ++k) {
    const Vec2 at = from + k * step * Vec2(std::cos(direction), std::sin(direction));
    if (least_gap(taken, rectangle_on_table(at, theta, size.x(), size.y())) >= gap) return at;
  }
  return std::nullopt;
}

bool add_sheets(Random& random, const RandomSceneOptions& o, Scene& scene) {
  geometry::Box box;
  for (const Thing& t : things(scene)) {
    for (const Vec2& p : t.border) box.add(p);
  }
  const int count = random.integer(o.sheets_min, o.sheets_max);
  const double first = random.uniform(0, full_turn);
  const int first_number = random.integer(1, sheet::sheets_max - count + 1);
  for (int k = 0; k < count; ++k) {
    const double direction = first + full_turn * (k + random.uniform(-0.15, 0.15)) / count;
    const double theta = random.integer(0, 3) * full_turn / 4 + random.uniform(-0.25, 0.25);
    const auto at = slid_out(things(scene), box.centre(), direction, theta, {paper_width, paper_height}, 10, 900);
    if (!at) return false;
    scene.sheets.push_back({first_number + k, *at, theta});
  }
  return true;
}

bool add_tags(Random& random, Scene& scene) {
  const Vec2 card = Vec2::Constant(sheet::tag_card);
  for (const LaidPanel& panel : scene.panels) {
    if (!panel.tag) continue;
    const double first = random.uniform(0, full_turn), theta = random.uniform(-0.3, 0.3);
    constexpr int directions = 12;
    bool done = false;
    for (int k = 0; k < directions && !done; ++k) {
      const auto at = slid_out(things(scene), geometry::centroid(panel.outline), first + full_turn * k / directions,
                               theta, card, 8, 420);
      done = at && belongs_to(rectangle_on_table(*at, theta, card.x(), card.y()), scene, panel);
      if (done) scene.tags.push_back({*panel.tag, *at, theta});
    }
    if (!done) return false;
  }
  return true;
}

void add_tools(Random& random, const RandomSceneOptions& o, Scene& scene) {
  if (!random.chance(o.tools_share)) return;
  constexpr std::array kinds = {ToolKind::steel_rule, ToolKind::chalk_stick, ToolKind::scissors, ToolKind::thread_coil};
  const ToolKind kind = kinds[static_cast<std::size_t>(random.integer(0, 3))];
  const double theta = random.uniform(0, full_turn), r = tool_radius(kind);
  const double wide = kind == ToolKind::thread_coil ? 2 * r : kind == ToolKind::scissors ? 110 : 30;
  const auto at = slid_out(things(scene), Vec2::Zero(), random.uniform(0, full_turn), theta, {2 * r, wide}, 20, 900);
  if (at) scene.tools.push_back({kind, *at, theta, static_cast<std::uint32_t>(random.next())});
}

void set_light(Random& random, const RandomSceneOptions& o, Scene& scene) {
  scene.light.azimuth = random.uniform(0, full_turn);
  scene.light.elevation = random.uniform(0.7, 1.2);
  scene.light.direct_share = random.uniform(0.35, 0.65);
  scene.light.half_size = random.uniform(0.06, 0.25);
  scene.light.gradient = {random.uniform(-0.2, 0.2), random.uniform(-0.2, 0.2)};
  const auto warm = static_cast<float>(random.uniform(-0.05, 0.05));
  scene.light.tint = {1 + warm, 1, 1 - warm};
  if (!random.chance(o.shadow_across_share)) return;
  const double direction = random.uniform(0, full_turn);
  scene.shadow_across = ShadowAcross{.point = {random.uniform(-150, 150), random.uniform(-150, 150)},
                                     .dark_side = {std::cos(direction), std::sin(direction)},
                                     .depth = random.uniform(0.4, 0.8),
                                     .softness = random.uniform(2, 12)};
}

bool place_camera(Random& random, const RandomSceneOptions& o, Scene& scene) {
  const std::vector<Thing> all = things(scene);
  geometry::Box box;
  for (const Thing& t : all) {
    if (t.kind == Thing::Kind::tool) continue;
    for (const Vec2& p : t.border) box.add(p);
  }
  CameraPlace place;
  place.aim = box.centre() + Vec2{random.uniform(-30, 30), random.uniform(-30, 30)};
  place.tilt_deg = random.uniform(0, o.tilt_max_deg);
  place.lean_deg = random.uniform(0, 360);
  place.turn_deg = random.uniform(0, 360);
  place.height = random.uniform(o.height_min, o.height_max);
  constexpr double too_high = 1900, margin_px = 40;
  const double margin = margin_px * o.width_px / 4032;
  for (; place.height < too_high; place.height *= 1.04) {
    scene.camera.pose = pose_at(place);
    const bool whole = std::all_of(all.begin(), all.end(), [&](const Thing& t) {
      return t.kind == Thing::Kind::tool || inside_photo(scene.camera, t.border, 0, margin);
    });
    if (whole) return true;
  }
  return false;
}

}  // namespace chalkfold::demo
