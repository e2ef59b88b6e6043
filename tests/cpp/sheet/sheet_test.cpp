// The sheet and the report document, from a report made by hand of library values.

#include "mamelon/sheet.h"

#include <algorithm>
#include <regex>
#include <string>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "mamelon/files.h"
#include "mamelon/region.h"

#include "sheet/html.h"
#include "sheet/raster.h"

namespace mamelon {
namespace {

const std::string evil = "<script>alert('x')</script>&\"";

struct Made {
  Viewing viewing{standard_illuminant("D65"), Observer::deg2};
  Report report{.label = evil, .viewing = viewing};

  Made() {
    TabSet tabs{.name = evil, .tabs = {}, .viewing = viewing, .provenance = {}};
    const auto tab = [&](const std::string& name, const Lab& lab) {
      Tab made{.name = name, .lab = {}, .reflectance = {}};
      made.lab.value = lab;
      made.lab.random = diagonal({0.04, 0.01, 0.01});
      tabs.tabs.push_back(made);
    };
    tab(evil, {71, 1, 19});
    tab("reed", {75, 0, 15});
    Reading reading{.label = evil,
                    .zone = {},
                    .lab = {},
                    .reflectance = {},
                    .viewing = viewing,
                    .count = 1,
                    .warnings = {},
                    .provenance = {}};
    reading.lab.value = {70.5, 1.25, 18.5};
    reading.lab.shared = diagonal({0.25, 0.09, 0.16});
    PlanRequest request{.target = reading};
    request.depth_mm = 3;
    Plan plan;
    plan.layers = {{.paste = evil, .role = Role::dentine, .thickness_mm = 2.5},
                   {.paste = "frost", .role = Role::enamel, .thickness_mm = 0.5}};
    plan.increments = {
        {.order = 1, .paste = evil, .thickness_mm = 1.3, .exposure_j_cm2 = 16, .exposure_s = {}},
        {.order = 2, .paste = evil, .thickness_mm = 1.2, .exposure_j_cm2 = 16, .exposure_s = 13.3},
        {.order = 3,
         .paste = "frost",
         .thickness_mm = 0.5,
         .exposure_j_cm2 = 12,
         .exposure_s = {}}};
    plan.predicted = {{viewing, {70.25, 1.5, 18}, {70.5, 1.25, 18.5}, 0.625}};
    plan.de00 = 0.625;
    plan.de00_rms = 0.875;
    plan.de00_p95 = 1.5;
    plan.metamerism = 0.125;
    PlanSet plans;
    plans.plans = {plan};
    plans.why = "two pastes, because " + evil;
    ToothReport tooth{.name = evil, .readings = {reading}};
    tooth.matches = {match(reading, tabs)};
    tooth.plans = plans;
    report.teeth = {tooth};
    report.tabs = tabs;
    report.request = request;
    report.warnings = {evil};
    report.provenance = provenance_of(report);
  }
};

TEST(Sheet, NamesAreEscapedEverywhere) {
  const Made made;
  const std::string html = sheet_html(made.report);
  EXPECT_EQ(html.find("<script"), std::string::npos);
  EXPECT_EQ(html.find("alert('x')"), std::string::npos);
  EXPECT_NE(html.find("&lt;script&gt;"), std::string::npos);
}

TEST(Sheet, StandsAlone) {
  const Made made;
  const std::string html = sheet_html(made.report);
  for (const std::string outside : {"http:", "https:", "@import", "src=", "<link", "file:"}) {
    EXPECT_EQ(html.find(outside), std::string::npos) << outside;
  }
}

TEST(Sheet, ShowsTheReportsNumbersAndEveryCaution) {
  const Made made;
  const std::string html = sheet_html(made.report);
  for (const std::string text : {"70.5 <span class=sd>± 0.5</span>", "0.62", "0.88", "1.50",
                                 "1.3 mm", "1.2 mm", "16 J/cm²", "<strong>14 s</strong>"}) {
    EXPECT_NE(html.find(text), std::string::npos) << text;
  }
  for (const std::string& caution : cautions()) {
    EXPECT_NE(html.find(detail::escaped(caution, 600)), std::string::npos) << caution;
  }
}

TEST(Sheet, AnOverlongLabelIsCutAndTheSameReportGivesTheSamePage) {
  Made made;
  made.report.label = std::string(10000, 'W');
  const std::string html = sheet_html(made.report);
  EXPECT_EQ(html.find(std::string(200, 'W')), std::string::npos);
  EXPECT_EQ(html, sheet_html(made.report));
}

TEST(ReportDocument, HasTheAgreedKeysAndTheReportsNumbers) {
  const Made made;
  const auto json = nlohmann::json::parse(to_json(made.report));
  EXPECT_EQ(json["viewing"]["illuminant"], "D65");
  EXPECT_EQ(json["readings"][0]["lab"][0], 70.5);
  EXPECT_EQ(json["readings"][0]["sd"][0], 0.5);
  EXPECT_EQ(json["readings"][0]["cov"][2][2], 0.16);
  EXPECT_EQ(json["readings"][0]["matches"][0]["tab"], evil);
  // Numbers leave with twelve significant digits.
  EXPECT_NEAR(json["readings"][0]["matches"][0]["de00"].get<double>(),
              made.report.teeth[0].matches[0].ranked[0].de00, 1e-11);
  EXPECT_EQ(json["plans"][0]["layers"][1]["paste"], "frost");
  EXPECT_EQ(json["plans"][0]["increments"][1]["exposure_s"], 13.3);
  EXPECT_TRUE(json["plans"][0]["increments"][0]["exposure_s"].is_null());
  EXPECT_EQ(json["plans"][0]["predicted"][0]["de00"], 0.625);
  EXPECT_EQ(json["recommended"], 0);
  EXPECT_EQ(json["mamelon"]["provenance"].get<std::string>().size(), 64U);
}

TEST(Sheet, HoldsBackWhatDecidesNothing) {
  Made made;
  ToothReport& tooth = made.report.teeth[0];
  RankedTab& first = tooth.matches[0].ranked[0];
  first.de00 = first.low / 2;  // outside its own interval
  tooth.withheld = {"too uncertain, take the photo again"};
  tooth.plans.reset();
  const std::string html = sheet_html(made.report);
  EXPECT_NE(html.find("too uncertain to grade"), std::string::npos);
  EXPECT_NE(html.find("withheld"), std::string::npos);
  EXPECT_EQ(html.find("Plan from the floor outward"), std::string::npos);
  const auto json = nlohmann::json::parse(to_json(made.report));
  EXPECT_TRUE(json["readings"][0]["matches"][0]["de00"].is_null());
  EXPECT_TRUE(json["readings"][0]["matches"][0]["grade"].is_null());
  EXPECT_NEAR(json["readings"][0]["matches"][0]["low"].get<double>(), first.low, 1e-11);
  EXPECT_TRUE(json["recommended"].is_null());
  EXPECT_EQ(json["plans"].size(), 0U);
}

TEST(Sheet, TheChairsPageHasEveryStepAndWholeNames) {
  Made made;
  ToothReport& tooth = made.report.teeth[0];
  Plan plan = tooth.plans->plans[0];
  const std::string name = "a paste whose maker was generous with words, for the neck of molars";
  plan.increments.clear();
  for (int i = 1; i <= 20; ++i) {
    plan.increments.push_back({.order = i,
                               .paste = name,
                               .thickness_mm = 0.5,
                               .exposure_j_cm2 = 16,
                               .exposure_s = 12.2,
                               .portion = i == 1 ? Portion::contact_wall : Portion::level});
  }
  plan.contact_wall = ContactWall{
      .paste = name, .height_mm = 3, .width_mm = 0.7, .in_front = plan.predicted.front()};
  // As good as the recommended plan, and not as good.
  tooth.plans->plans = {plan, plan};
  tooth.plans->plans[1].layers[0].paste = "as good";
  tooth.plans->plans.push_back(plan);
  tooth.plans->plans[2].layers[0].paste = "visibly worse";
  tooth.plans->plans[2].de00_rms += 0.5;
  const std::string html = sheet_html(made.report);
  const std::string chair = html.substr(0, html.find("Evidence"));
  std::size_t steps = 0;
  for (std::size_t at = 0; (at = chair.find(name, at)) != std::string::npos; ++at) ++steps;
  EXPECT_EQ(steps, 20U);
  EXPECT_NE(chair.find("<strong>13 s</strong>"), std::string::npos);
  EXPECT_NE(chair.find("contact wall, 0.7 mm wide"), std::string::npos);
  EXPECT_NE(chair.find("as good "), std::string::npos);
  EXPECT_EQ(chair.find("visibly worse"), std::string::npos);
  // One warning on top, all the others behind.
  EXPECT_EQ(chair.find(detail::escaped(cautions()[3], 600)), std::string::npos);
}

TEST(Sheet, TheChairsPageSaysWhatTheCaseKnowsAndLeavesTheRestToBeWritten) {
  Made made;
  const std::string paste = made.report.first().best()->layers.front().paste;
  const auto chair = [&] {
    const std::string html = sheet_html(made.report);
    return html.substr(0, html.find("Evidence"));
  };
  made.report.label.clear();
  for (const char* empty : {"Case <b></b>", "Date <b></b>", "Operator <b></b>"}) {
    EXPECT_NE(chair().find(empty), std::string::npos) << empty;
  }
  EXPECT_NE(chair().find("Lot of " + detail::escaped(paste, 200) + " <b></b>"), std::string::npos);
  made.report.chair = {.date = "28 <11> 2026", .operator_code = "ann", .lots = {{paste, "7B"}}};
  for (const char* said : {"Date <b>28 &lt;11&gt; 2026</b>", "Operator <b>ann</b>", "<b>7B</b>"}) {
    EXPECT_NE(chair().find(said), std::string::npos) << said;
  }
}

TEST(Sheet, WhatIsInventedIsMarkedAndIsNoPlan) {
  Made made;
  EXPECT_EQ(sheet_html(made.report).find("Invented"), std::string::npos);
  made.report.tabs->invented = true;
  const std::string html = sheet_html(made.report);
  EXPECT_NE(html.find("Invented"), std::string::npos);
  EXPECT_EQ(html.find("Plan from the floor"), std::string::npos);
  EXPECT_EQ(html.find("Paste lots"), std::string::npos);
  EXPECT_NE(html.find("an example and no plan"), std::string::npos);
}

TEST(Sheet, SaysWhereAnUncertaintyIsUnknown) {
  Made made;
  made.report.teeth[0].readings[0].lab.shared = {};
  EXPECT_NE(sheet_html(made.report).find("± unknown"), std::string::npos);
  EXPECT_TRUE(nlohmann::json::parse(to_json(made.report))["readings"][0]["sd"].is_null());
}

TEST(Sheet, TheToothNamedStandsFirst) {
  Made made;
  ToothReport other = made.report.teeth[0];
  other.name = "21";
  other.readings[0].label = "21";
  other.matches[0].ranked[0].tab = "reed";
  made.report.teeth.push_back(other);
  made.report.headline = 1;
  const std::string html = sheet_html(made.report);
  const std::string answer = html.substr(html.find("class=answer"), 60);
  EXPECT_NE(answer.find("21: nearest tab reed"), std::string::npos) << answer;
  const auto json = nlohmann::json::parse(to_json(made.report));
  EXPECT_EQ(json["headline"], "21");
  EXPECT_EQ(json["teeth"][1]["name"], "21");
  EXPECT_EQ(json["teeth"].size(), 2U);
}

TEST(ReportDocument, DigestFollowsTheInputs) {
  Made made;
  made.report.teeth[0].readings[0].provenance = make_provenance("test", "", {"one"});
  const Provenance first = provenance_of(made.report);
  made.report.teeth[0].readings[0].provenance = make_provenance("test", "", {"two"});
  EXPECT_NE(first.digest, provenance_of(made.report).digest);
}

TEST(Html, EscapesCutsAndReplaces) {
  EXPECT_EQ(detail::escaped("a<b>&\"'\n"), "a&lt;b&gt;&amp;&quot;&#39; ");
  EXPECT_EQ(detail::escaped("ééé", 2), "éé…");
  EXPECT_EQ(detail::number_text(-1.25, 2), "−1.25");
  EXPECT_EQ(detail::percent(0.995), ">99 %");
  EXPECT_EQ(detail::percent(0.004), "<1 %");
  EXPECT_EQ(detail::percent(1), "100 %");
}

TEST(Raster, PngGoesOutAndComesBackWithoutMetadata) {
  std::vector<std::uint8_t> rgb(3 * 7 * 5, 128);
  const std::string uri = detail::png_data_uri(rgb, 7, 5);
  EXPECT_TRUE(uri.starts_with("data:image/png;base64,iVBORw0KGgo"));
  EXPECT_THROW((void)parse_mask("not a picture", "m.png"), DataError);
}

TEST(Raster, TheCropStaysInsideThePhotoAndShrinks) {
  Photo photo;
  photo.width = 4000;
  photo.height = 3000;
  const Mask tooth{.x = 3500, .y = 100, .width = 480, .height = 900, .inside = {}};
  const detail::Crop crop = detail::crop_around(tooth, photo, 420);
  EXPECT_LE(crop.x + (crop.width - 1) * crop.shrink, photo.width - 1);
  EXPECT_LE(std::max(crop.width, crop.height), 420U);
  EXPECT_LE(crop.x, tooth.x);
  EXPECT_EQ(crop.y, 0U);
}

}  // namespace
}  // namespace mamelon
