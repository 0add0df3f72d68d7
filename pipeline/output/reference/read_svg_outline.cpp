// SPDX-License-Identifier: Apache-2.0
#include <libxml/parser.h>
#include <libxml/tree.h>
// SVG++ wants libxml2 included before it.
#include <fmt/format.h>

#include <Eigen/Geometry>
#include <memory>
#include <string>
#include <svgpp/policy/xml/libxml2.hpp>
#include <svgpp/svgpp.hpp>

#include "pipeline/common/error.h"
#include "pipeline/common/utf8.h"
#include "pipeline/geometry/curve.h"
#include "pipeline/geometry/polygon.h"
#include "pipeline/output/reference/read_outline.h"

namespace chalkfold::output {

namespace {
constexpr double mm_per_px = 25.4 / 96;  // CSS's pixel, which SVG++ counts in
constexpr double flat = 0.01;            // mm, that a polyline may leave a curve
constexpr double reach = 0.05;           // mm, between ends that meet

[[noreturn]] void fail(const std::string& where, const std::string& what) {
  throw FileError(fmt::format("{}: {}", where, what));
}

/// Takes what SVG++ reads: elements with their transforms, paths with all curves as cubics.
class Reader {
 public:
  template <class Element>
  void on_enter_element(Element) {
    elements_.push_back(elements_.back());
  }
  void on_exit_element() { elements_.pop_back(); }
  void transform_matrix(const boost::array<double, 6>& m) {
    Eigen::Affine2d own;
    own.matrix() << m[0], m[2], m[4], m[1], m[3], m[5], 0, 0, 1;
    elements_.back().page_from_own = elements_.back().page_from_own * own;
  }
  void disable_rendering() {}                           // a viewport of no size: its shapes have no area either
  void set_viewport(double, double, double, double) {}  // they come as transforms too
  void set_viewbox_size(double, double) {}
  template <class Range>
  void set(svgpp::tag::attribute::id, const Range& id) {
    if (std::string(boost::begin(id), boost::end(id)) == "layer-1") elements_.back().boundary = true;
  }

  void path_move_to(double x, double y, svgpp::tag::coordinate::absolute) {
    finish(false);
    start_ = here_ = Vec2(x, y);
  }
  void path_line_to(double x, double y, svgpp::tag::coordinate::absolute) {
    begin();
    here_ = Vec2(x, y);
    line_.push_back(on_page(here_));
  }
  void path_cubic_bezier_to(double x1, double y1, double x2, double y2, double x, double y,
                            svgpp::tag::coordinate::absolute) {
    begin();
    geometry::CurveSegment cubic;
    cubic.kind = geometry::CurveSegment::Kind::cubic;
    cubic.from = on_page(here_);
    cubic.control1 = on_page({x1, y1});
    cubic.control2 = on_page({x2, y2});
    here_ = Vec2(x, y);
    cubic.to = on_page(here_);
    const Polyline points = geometry::flattened({cubic}, flat);
    line_.insert(line_.end(), points.begin() + 1, points.end());
  }
  void path_close_subpath() {
    finish(true);
    here_ = start_;
  }
  void path_exit() { finish(false); }

  std::vector<FileLine> take() { return std::move(lines_); }

 private:
  struct Element {
    Eigen::Affine2d page_from_own = Eigen::Affine2d::Identity();
    bool boundary = false;
  };

  /// mm on the page, y still down.
  Vec2 on_page(const Vec2& p) const { return mm_per_px * (elements_.back().page_from_own * p); }
  void begin() {
    if (line_.empty()) line_.push_back(on_page(here_));
  }
  void finish(bool closed) {
    if (line_.size() > 1) lines_.push_back({line_, closed, elements_.back().boundary});
    line_.clear();
  }

  std::vector<Element> elements_{1};
  Vec2 start_ = Vec2::Zero(), here_ = Vec2::Zero();
  Polyline line_;
  std::vector<FileLine> lines_;
};

/// Attributes that are none of SVG's (editors' own) are nobody's error here.
struct Lenient : svgpp::policy::error::raise_exception<Reader> {
  template <class Element, class Name>
  static bool unknown_element(const Reader&, const Element&, const Name&) {
    return true;
  }
  template <class... More>
  static bool unknown_attribute(const Reader&, const More&...) {
    return true;
  }
};

using Elements =
    boost::mpl::set<svgpp::tag::element::svg, svgpp::tag::element::g, svgpp::tag::element::a, svgpp::tag::element::path,
                    svgpp::tag::element::rect, svgpp::tag::element::circle, svgpp::tag::element::ellipse,
                    svgpp::tag::element::line, svgpp::tag::element::polyline, svgpp::tag::element::polygon>::type;

using Attributes = boost::mpl::fold<
    boost::mpl::joint_view<svgpp::traits::shapes_attributes_by_element, svgpp::traits::viewport_attributes>,
    boost::mpl::set<svgpp::tag::attribute::transform, svgpp::tag::attribute::id>::type,
    boost::mpl::insert<boost::mpl::_1, boost::mpl::_2>>::type;

using Traversal =
    svgpp::document_traversal<svgpp::processed_elements<Elements>, svgpp::processed_attributes<Attributes>,
                              svgpp::viewport_policy<svgpp::policy::viewport::as_transform>,
                              svgpp::path_policy<svgpp::policy::path::minimal>, svgpp::error_policy<Lenient>>;

std::string attribute(xmlNode* node, const char* name) {
  xmlChar* value = xmlGetProp(node, reinterpret_cast<const xmlChar*>(name));
  std::string text = value ? reinterpret_cast<const char*>(value) : "";
  xmlFree(value);
  return text;
}

bool has_unit_of_length(const std::string& text) {
  for (const char* unit : {"mm", "cm", "in", "pt", "pc"})
    if (text.ends_with(unit)) return true;
  return false;
}

using Document = std::unique_ptr<xmlDoc, decltype(&xmlFreeDoc)>;

/// Without the network, without entities from outside, without words on stderr.
Document parsed(std::string_view bytes, const std::string& where) {
  Document document(xmlReadMemory(bytes.data(), static_cast<int>(bytes.size()), "drawing.svg", nullptr,
                                  XML_PARSE_NONET | XML_PARSE_NOERROR | XML_PARSE_NOWARNING),
                    &xmlFreeDoc);
  if (!document) fail(where, "this is no whole XML file: it was cut short or is no SVG; export it again");
  xmlNode* root = xmlDocGetRootElement(document.get());
  if (!root || std::string(reinterpret_cast<const char*>(root->name)) != "svg")
    fail(where, "its first element is not svg; export the drawing as SVG");
  for (const char* side : {"width", "height"})
    if (!has_unit_of_length(attribute(root, side)))
      fail(where,
           fmt::format("its {} is \"{}\", without a unit of length, so its scale is not known; export it with the "
                       "page's size in mm",
                       side, plain_text(attribute(root, side))));
  return document;
}
}  // namespace

ForeignOutline read_svg_outline(std::string_view bytes, const std::string& where) {
  const Document document = parsed(bytes, where);
  Reader reader;
  try {
    Traversal::load_document(xmlDocGetRootElement(document.get()), reader);
  } catch (const std::exception& e) {
    fail(where, fmt::format("{}; export the SVG again", plain_text(e.what())));
  }
  ForeignOutline out;
  for (const Vec2& p : largest_closed(reader.take(), reach)) out.outline.push_back(geometry::y_down_from_y_up(p, 0));
  if (out.outline.empty())
    fail(where, "there is no closed outline in it; draw the piece's boundary as one closed path");
  return out;
}

}  // namespace chalkfold::output
