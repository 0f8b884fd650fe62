// boundary: text inserted into a report, character by character
#include <algorithm>
#include <array>
#include <set>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/base64.hpp"
#include "report/escape.hpp"
#include "report/words.hpp"
#include "sievecloth/digest.hpp"
#include "sievecloth/drawing.hpp"
#include "sievecloth/report_file.hpp"
#include "sievecloth/report_template.hpp"

namespace sievecloth {
namespace {

using testing::HasSubstr;
using testing::Not;

TEST(Escape, EachFormatKeepsItsOwnMarkupOut) {
  EXPECT_EQ(escaped_html("<a href=\"x\">&'"), "&lt;a href=&quot;x&quot;&gt;&amp;&#39;");
  EXPECT_EQ(quoted_css("a\"b</style>\\\n"), "\"a\\22 b\\3c \\2f style\\3e \\5c \\a \"");
  EXPECT_EQ(escaped_markdown("a|b*c_d`[x](y)<z>"), "a\\|b\\*c\\_d\\`\\[x\\](y)\\<z\\>");
}

TEST(Escape, NoCsvCellIsAFormula) {
  for (const std::string formula : {"=1+1", "+1", "-1", "@x", "\t=1", "\r=1"}) {
    EXPECT_THAT(csv_cell(formula), HasSubstr("'")) << formula;
  }
  EXPECT_EQ(csv_cell("plain = text"), "plain = text");
  EXPECT_EQ(csv_cell("a,\"b\""), "\"a,\"\"b\"\"\"");
  EXPECT_EQ(csv_cell(""), "");
}

// source: RFC 4648, section 10
TEST(Base64, TestVectors) {
  const std::array<std::pair<std::string_view, std::string_view>, 7> vectors{{{"", ""},
                                                                              {"f", "Zg=="},
                                                                              {"fo", "Zm8="},
                                                                              {"foo", "Zm9v"},
                                                                              {"foob", "Zm9vYg=="},
                                                                              {"fooba", "Zm9vYmE="},
                                                                              {"foobar", "Zm9vYmFy"}}};
  for (const auto& [bytes, text] : vectors) EXPECT_EQ(base64(bytes), text);
}

// source: FIPS 180-4 examples ("abc" and the empty message)
TEST(Sha256, TestVectors) {
  EXPECT_EQ(Sha256().hexadecimal(), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  Sha256 digest;
  digest.add("a");
  digest.add("");
  digest.add("bc");
  EXPECT_EQ(digest.hexadecimal(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

TEST(Words, PlacesAreFilledOnceAndFromTheLeft) {
  EXPECT_EQ(filled("{a} and {b}", std::array{Filling{"a", "{b}"}, Filling{"b", "2"}}), "{b} and 2");
  EXPECT_EQ(filled("{c} {", std::array{Filling{"a", "1"}}), "{c} {");
  EXPECT_EQ(filled("", {}), "");
}

TEST(Words, AFamilyHasATextForEachValue) {
  // property: the compiler checks that every value has its text; here, that each gets its own
  std::set<std::string_view> keys;
  for (std::size_t i = 0; i < enumerator_count<Reason>(); ++i) {
    const auto reason = static_cast<Reason>(i);
    const Key key = Key::of<"reason">(reason);
    EXPECT_EQ(key.name(), to_text(reason));
    keys.insert(key.name());
  }
  EXPECT_EQ(keys.size(), enumerator_count<Reason>());
}

TEST(Words, NoKeyStandsTwice) {
  for (const EnglishText& entry : k_english) EXPECT_EQ(find_english(entry.key), &entry) << entry.key;
}

TEST(Wording, TheTemplateReadsBackAsEnglish) {
  const Result<Wording> wording = read_wording(wording_template(), "template");
  ASSERT_TRUE(wording.ok()) << to_text(wording.error());
  EXPECT_EQ(wording->language, "en");
  ASSERT_EQ(wording->texts.size(), k_english.size());
  for (const EnglishText& entry : k_english) EXPECT_EQ(wording->texts.at(std::string(entry.key)), entry.text);
}

// boundary: every text is missing, one is there, all are
TEST(Wording, WhatIsMissingIsListed) {
  const std::string head = "schema: sievecloth-wording/1\nlanguage: en\ndecimal_mark: \".\"\ntexts:";
  const Result<Wording> one = read_wording(head + "\n  page: \"{page} / {pages}\"\n", "w.yaml");
  ASSERT_TRUE(one.ok()) << to_text(one.error());
  EXPECT_EQ(missing_texts(*one).size(), k_english.size() - 1);
  EXPECT_EQ(missing_texts(Wording()).size(), k_english.size());
  EXPECT_TRUE(missing_texts(*read_wording(wording_template(), "w.yaml")).empty());
}

TEST(Wording, OnlyTextsOfTheTablesAreTableTexts) {
  const auto read = [](const std::string& more) { return read_wording(wording_template() + more, "w.yaml"); };
  const Result<Wording> own = read("table_texts:\n  \"recalled, without a document at hand\": \"from memory\"\n");
  ASSERT_TRUE(own.ok()) << to_text(own.error());
  EXPECT_EQ(own->table_texts.size(), 1u);
  EXPECT_FALSE(read("table_texts:\n  \"no such title\": \"x\"\n").ok());
  EXPECT_FALSE(read("table_texts:\n  \"recalled, without a document at hand\": \"" + std::string(600, 'x') + "\"\n").ok());
}

TEST(Wording, ChangedPlacesAreRefused) {
  std::string yaml = wording_template();
  const std::string page = "page {page} of {pages}";
  yaml.replace(yaml.find(page), page.size(), "page {page} of {total}");
  const Result<Wording> wording = read_wording(yaml, "w.yaml");
  ASSERT_FALSE(wording.ok());
  EXPECT_EQ(wording.error().code, ErrorCode::wrong_value);
  EXPECT_GT(wording.error().where.line, 4);
}

TEST(Laboratory, OnlyPicturesAreLogos) {
  const std::string head = "schema: sievecloth-laboratory/1\nname: Example Laboratory\n";
  ASSERT_TRUE(read_laboratory(head, "l").ok());
  EXPECT_EQ(read_laboratory(head + "logo: a.PNG\n", "l")->letterhead.logo_kind, Letterhead::LogoKind::png);
  EXPECT_EQ(read_laboratory(head + "logo: a.svg\n", "l")->letterhead.logo_kind, Letterhead::LogoKind::svg);
  for (const std::string wrong : {"logo: a.gif\n", "logo: png\n", "surplus: 1\n", "address: one line\n"}) {
    EXPECT_FALSE(read_laboratory(head + wrong, "l").ok()) << wrong;
  }
  EXPECT_FALSE(read_laboratory("schema: sievecloth-laboratory/1\n", "l").ok());
}

TEST(Drawing, SvgKeepsTextAsTextAndPointsNowhere) {
  const Drawing drawing{
      10,
      20.5,
      {LineShape{{0, 1}, {2, 3.456}, {0.5, 1, {3, 2}}}, TextShape{{1, 2}, "<w> & \"x\"", 7, Anchor::middle, true, true, 0},
       AreaShape{{0, 0}, 1, 2, 1}, CircleShape{{1, 1}, 0.5, true, {}}, PathShape{{{0, 0}, {1, -1e-9}}, {}}}};
  const std::string svg = to_svg(drawing, "a \"title\" <b>");
  EXPECT_THAT(svg, HasSubstr("viewBox=\"0 0 10 20.5\""));
  EXPECT_THAT(svg, HasSubstr("<title>a &quot;title&quot; &lt;b&gt;</title>"));
  EXPECT_THAT(svg, HasSubstr("x1=\"0\" y1=\"1\" x2=\"2\" y2=\"3.46\" fill=\"none\" stroke=\"#808080\""));
  EXPECT_THAT(svg, HasSubstr("stroke-dasharray=\"3 2\""));
  EXPECT_THAT(svg, HasSubstr(">&lt;w&gt; &amp; &quot;x&quot;</text>"));
  EXPECT_THAT(svg, HasSubstr("points=\"0,0 1,0\""));
  EXPECT_THAT(svg, Not(HasSubstr("http")));
}

Report small_report(std::size_t readings) {
  const Specification specification = *specify(**find_edition("astm-e11-17"), "75um", Grade::inspection);
  Sample sample = make_sample(specification);
  ReportSource source;
  for (std::size_t i = 0; i < readings; ++i) {
    const Direction direction = i % 2 == 0 ? Direction::warp : Direction::weft;
    source.readings.push_back(
        {.direction = direction, .aperture = Length::from_pm(75'000'000 + static_cast<std::int64_t>(i % 7) * 500'000)});
    sample.add(source.readings.back()).value();
  }
  return make_report(*assess(specification, sample, {}), std::move(source));
}

TEST(Report, EveryNumberOfReadingsCanBeDrawn) {
  for (const std::size_t n : {0u, 1u, 2u, 3u, 14u, 2000u}) {
    const Report report = small_report(n);
    const bool pictures = std::any_of(report.sections.begin(), report.sections.end(),
                                      [](const Section& section) { return section.id == "pictures"; });
    EXPECT_EQ(pictures, n > 0) << n;
    EXPECT_THAT(to_html(report), Not(HasSubstr("nan"))) << n;
    EXPECT_THAT(to_html(report), Not(HasSubstr("\"inf"))) << n;
  }
}

TEST(Report, ManyReadingsDoNotMakeALargePicture) { EXPECT_LT(to_html(small_report(20'000)).size(), 150'000u); }

TEST(Template, ABrokenOneIsAnError) {
  const Report report = small_report(2);
  EXPECT_EQ(*fill_template(report, "{{shown.verdict}} {{{standard}}}", TemplateKind::text), "Undecided astm-e11-17");
  EXPECT_FALSE(fill_template(report, "{{#criteria}}", TemplateKind::text).ok());
  EXPECT_FALSE(fill_template(report, "{{criteria", TemplateKind::html).ok());
}

// identity: the row of 75 um as its table prints it; a number is as in the JSON document, null or false is empty
TEST(Template, FindsTheDocument) {
  const Report report = small_report(2);
  const auto filled = [&](std::string_view text) { return *fill_template(report, text, TemplateKind::text); };
  EXPECT_EQ(filled("{{nominal_um}} {{designation}}"), "75 75 \u00b5m");
  EXPECT_EQ(filled("{{#samples}}{{#warp}}{{aperture.n}} {{aperture.mean_um}}{{/warp}}{{/samples}}"), "1 75");
  EXPECT_EQ(filled("{{#criteria}}{{id}};{{/criteria}}").substr(0, 8), "viewing;");
  EXPECT_EQ(filled("{{#measured_only}}yes{{/measured_only}}{{^measured_only}}no{{/measured_only}}"), "no");
  EXPECT_EQ(filled("{{#provisional}}yes{{/provisional}}"), "yes");
}

// identity: computed by hand; w = 75 um, Y = 4.1 um, X = 29 um of the table
TEST(WorstMargin, IsAShareOfWhatTheLimitAllows) {
  const Specification specification = *specify(**find_edition("astm-e11-17"), "75um", Grade::inspection);
  Sample sample = make_sample(specification);
  const Length y = specification.row->average_tolerance.value;
  for (const Direction direction : k_directions) {
    for (int i = 0; i < 200; ++i)
      sample.add({.direction = direction, .aperture = specification.row->nominal + (direction == Direction::warp ? y : Length())})
          .value();
  }
  const Assessment assessment = *assess(specification, sample, {.apertures_only = true});
  const std::optional<WorstMargin> worst = worst_margin(assessment);
  ASSERT_TRUE(worst);
  EXPECT_EQ(worst->criterion->id, CriterionId::average_aperture);
  EXPECT_EQ(worst->criterion->direction, Direction::warp);
  EXPECT_EQ(worst->share, 0);
}

}  // namespace
}  // namespace sievecloth
