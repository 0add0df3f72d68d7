// SPDX-License-Identifier: Apache-2.0
#include "pipeline/output/report/report.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>

#include "tests/output/flag_panel.h"
#include "tests/output/ringed_flag.h"

namespace chalkfold::output {

namespace {
using testing::HasSubstr;
using testing::Not;

std::string report() { return report_html(test::sample_results(), "a date"); }

std::size_t count_of(const std::string& text, const std::string& part) {
  std::size_t count = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++count;
  return count;
}
}  // namespace

TEST(Report, ShowsPanelsFaultsAndTheirRemedies) {
  const std::string html = report();
  EXPECT_THAT(html, HasSubstr("200.0 x 120.0 mm"));
  EXPECT_THAT(html, HasSubstr("0.25 mm median, 0.25 mm at the worst point"));
  EXPECT_THAT(html, HasSubstr("src=\"pictures/flag%20%231.jpg\""));
  for (const Fault& fault : all_faults(test::sample_results())) EXPECT_THAT(html, HasSubstr(fault.remedy));
}

TEST(Report, SaysWhatMustBeSaid) {
  const std::string html = report();
  for (const char* words : {"measured from photographs", "upper face", "never mirrored", "hog-ring", "Spray glue",
                            "airbag", "seat belts", "Local codes"}) {
    EXPECT_THAT(html, HasSubstr(words));
  }
}

TEST(Report, NoNameBecomesMarkup) {
  const std::string html = report();
  EXPECT_THAT(html, Not(HasSubstr("flag <1>")));
  EXPECT_THAT(html, HasSubstr("flag &lt;1&gt; &amp; &quot;2&quot;"));
  EXPECT_THAT(html, Not(HasSubstr("\x1B")));
}

TEST(Report, StandsAlone) {
  const std::string html = report();
  for (const char* outside : {"http:", "https:", "<script", "<link", "url("})
    EXPECT_THAT(html, Not(HasSubstr(outside)));
}

TEST(Report, EveryElementIsClosed) {
  const std::string html = report();
  for (const char* element : {"div", "table", "tr", "td", "th", "article", "dl", "dt", "dd", "p", "h1", "h2", "h3",
                              "ul", "li", "body", "header", "footer"}) {
    const std::string name = element;
    EXPECT_EQ(count_of(html, "<" + name + ">") + count_of(html, "<" + name + " "), count_of(html, "</" + name + ">"))
        << name;
  }
}

TEST(Report, TheDateStandsInTheFooterOnly) {
  const std::string a = report_html(test::sample_results(), "date-a"),
                    b = report_html(test::sample_results(), "date-b");
  EXPECT_EQ(count_of(a, "date-a"), 1u);
  EXPECT_GT(a.find("date-a"), a.find("<footer>"));
  std::string changed = a;
  changed.replace(changed.find("date-a"), 6, "date-b");
  EXPECT_EQ(changed, b);
}

TEST(FooterTime, FollowsSourceDateEpoch) {
  ::setenv("SOURCE_DATE_EPOCH", "1000000000", 1);
  EXPECT_EQ(footer_time(), "2001-09-09 01:46 UTC");
  ::setenv("SOURCE_DATE_EPOCH", "not a number", 1);
  EXPECT_NE(footer_time(), "2001-09-09 01:46 UTC");
  ::unsetenv("SOURCE_DATE_EPOCH");
}

TEST(Report, AHideShowsItsFlawsAndWhichSideToLay) {
  Results results = test::sample_results();
  results.panels[0].panel = test::ringed_flag();
  const std::string html = report_html(results, "a date");
  EXPECT_THAT(html, HasSubstr("usable 0.0207 m2 (2 flaws and 1 hole taken off)"));
  EXPECT_THAT(html, HasSubstr("2: 40 x 40 mm, 16.0 cm2, at (140, 80) mm from the lower left"));
  EXPECT_THAT(html, HasSubstr("run with --face"));
  results.panels[0].panel.face_up.reset();
  EXPECT_THAT(report_html(results, "a date"), HasSubstr("pieces laid on it must show the same side"));
}

}  // namespace chalkfold::output
