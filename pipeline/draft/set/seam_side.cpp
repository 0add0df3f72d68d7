// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <charconv>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"
#include "pipeline/draft/set/seam_side.h"

namespace chalkfold::draft {
namespace {

[[noreturn]] void refuse(std::string_view text, const char* what) {
  throw UsageError(fmt::format(
      "\"{}\" is no side of a seam: {}. Write PIECE/EDGE as in \"cushion top/2\", PIECE/FIRST-LAST for edges "
      "in a row, PIECE/EDGE:1-3 for the part from the first to the third match mark (start and end are "
      "places too), and \" mirrored\" behind it for the mirror image of a piece",
      plain_text(text), what));
}

std::optional<int> whole(std::string_view text) {
  int value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || value < 1 || value > 9999) return std::nullopt;
  return value;
}

/// Takes `ending` off the end of `text` if it is there.
bool take_ending(std::string_view& text, std::string_view ending) {
  if (!text.ends_with(ending)) return false;
  text.remove_suffix(ending.size());
  return true;
}

/// The two halves around a hyphen; the whole twice when there is none and `alone` is allowed.
bool halves(std::string_view text, bool alone, std::string_view& first, std::string_view& second) {
  const std::size_t hyphen = text.find('-');
  first = text.substr(0, hyphen);
  second = hyphen == std::string_view::npos ? text : text.substr(hyphen + 1);
  return alone || hyphen != std::string_view::npos;
}

void read_part(std::string_view whole_text, std::string_view part, SeamSide& side) {
  std::string_view from, to;
  if (!halves(part, false, from, to)) refuse(whole_text, "after the colon two marks are needed");
  side.from_mark = whole(from);
  side.to_mark = whole(to);
  if ((!side.from_mark && from != "start") || (!side.to_mark && to != "end"))
    refuse(whole_text, "after the colon stand mark numbers from 1, or start and end");
  if (side.from_mark && side.to_mark && *side.from_mark >= *side.to_mark)
    refuse(whole_text, "the second mark must come after the first");
}

}  // namespace

SeamSide read_seam_side(std::string_view text) {
  SeamSide side;
  std::string_view rest = text;
  side.mirrored = take_ending(rest, " mirrored");
  const std::size_t slash = rest.rfind('/');
  if (slash == std::string_view::npos) refuse(text, "it names no edge");
  side.piece = std::string(rest.substr(0, slash));
  if (side.piece.empty()) refuse(text, "it names no piece");
  rest = rest.substr(slash + 1);
  const std::size_t colon = rest.find(':');
  if (colon != std::string_view::npos) read_part(text, rest.substr(colon + 1), side);
  std::string_view first, last;
  halves(rest.substr(0, colon), true, first, last);
  const auto a = whole(first), b = whole(last);
  if (!a || !b) refuse(text, "edges are numbers from 1");
  side.first_edge = *a;
  side.last_edge = *b;
  return side;
}

std::string to_text(const SeamSide& side) {
  std::string text = fmt::format("{}/{}", side.piece, side.first_edge);
  if (side.last_edge != side.first_edge) text += fmt::format("-{}", side.last_edge);
  if (side.from_mark || side.to_mark)
    text += fmt::format(":{}-{}", side.from_mark ? std::to_string(*side.from_mark) : "start",
                        side.to_mark ? std::to_string(*side.to_mark) : "end");
  return side.mirrored ? text + " mirrored" : text;
}

}  // namespace chalkfold::draft
