// Units, ranges and viewings of tables: honoured or refused, never dropped.

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/error.h"
#include "mamelon/files.h"

namespace mamelon {
namespace {

using testing::HasSubstr;

std::vector<Reading> readings(const std::string& text, const std::string& viewing = "") {
  return parse_measurements(
      text, "t", viewing.empty() ? std::optional<Viewing>() : viewing_from_string(viewing));
}

std::string refusal(const std::string& text, const std::string& viewing = "") {
  try {
    (void)readings(text, viewing);
  } catch (const Error& error) {
    return error.what();
  }
  return "nothing was refused";
}

std::string spectral(const std::string& header_end, const std::string& value, int first = 400,
                     int last = 700) {
  std::string header = "label";
  std::string row = "reed";
  for (int nm = first; nm <= last; nm += 10) {
    header += "," + std::to_string(nm) + header_end;
    row += "," + value;
  }
  return header + "\n" + row + "\n";
}

std::string cgats(const std::string& norm, const std::string& value) {
  std::string fields = "SAMPLE_ID";
  std::string row = "reed";
  for (int nm = 400; nm <= 700; nm += 10) {
    fields += " SPECTRAL_NM" + std::to_string(nm);
    row += " " + value;
  }
  return "ISO28178\n" + norm + "BEGIN_DATA_FORMAT\n" + fields + "\nEND_DATA_FORMAT\nBEGIN_DATA\n" +
         row + "\nEND_DATA\n";
}

double lightness(const std::string& text) {
  return readings(text).front().lab.value.l;
}

// L* of a grey of reflectance 0.4: 116 · 0.4^(1/3) − 16 (ISO/CIE 11664-4).
constexpr double grey = 69.469531;

TEST(Units, TheNormOfSpectraIsHonoured) {
  EXPECT_NEAR(lightness(cgats("SPECTRAL_NORM 1\n", "0.4")), grey, 1e-5);
  EXPECT_NEAR(lightness(cgats("SPECTRAL_NORM 100\n", "40")), grey, 1e-5);
  EXPECT_NEAR(lightness(cgats("SPECTRAL_NORM 255\n", "102")), grey, 1e-5);
  EXPECT_NEAR(lightness(cgats("SPECTRAL_NORM 2\n", "0.8")), grey, 1e-5);
  EXPECT_THAT(refusal(cgats("SPECTRAL_NORM 0\n", "0.4")), HasSubstr("SPECTRAL_NORM"));
  EXPECT_THAT(refusal(cgats("SPECTRAL_NORM white\n", "0.4")), HasSubstr("SPECTRAL_NORM"));
}

TEST(Units, FractionsUnderPercentAndTheReverseAreRefused) {
  EXPECT_THAT(refusal(spectral("%", "0.4")), HasSubstr("look like fractions"));
  EXPECT_THAT(refusal(spectral("", "40")), HasSubstr("percent"));
  EXPECT_THAT(refusal(cgats("SPECTRAL_NORM 100\n", "0.4")), HasSubstr("look like fractions"));
  EXPECT_NEAR(lightness(spectral("%", "40")), grey, 1e-5);
}

TEST(Units, TristimulusValuesOfZeroToOneAreTakenOnlyWhereTheUnitIsStated) {
  EXPECT_THAT(refusal("label,X,Y,Z\nreed,0.38,0.4,0.43\n"), HasSubstr("0 to 1"));
  EXPECT_NEAR(lightness("label,X,Y,Z\nreed,38,40,43\n"), grey, 1e-5);
  EXPECT_NEAR(lightness("label,X,Y,Z\n,1,1,1\nreed,0.38,0.4,0.43\n"), grey, 1e-5);
}

TEST(Units, SpectraThatMissMostOfTheVisibleAreRefused) {
  EXPECT_THAT(refusal("label,540,550,560\nreed,.4,.4,.4\n"), HasSubstr("540 to 560 nm"));
  EXPECT_THAT(refusal(spectral("", "0.4", 400, 600)), HasSubstr("do not cover"));
  EXPECT_NEAR(lightness(spectral("", "0.4", 420, 680)), grey, 1e-5);
  EXPECT_THROW((void)parse_reflectance("nm,reflectance\n540,.4\n550,.4\n560,.4\n", "f.csv"),
               DataError);
  EXPECT_THROW((void)parse_power("nm,power\n540,1\n550,1\n560,1\n", "l.csv"), DataError);
}

TEST(Viewings, ColumnsOfIlluminantAndObserverAreHonouredOrRefused) {
  const std::string table = "label,L,a,b,illuminant,observer\nreed,70,1,15,D50,10\n";
  EXPECT_EQ(to_string(readings(table).front().viewing), "D50/10");
  EXPECT_THAT(refusal(table, "D65/2"), HasSubstr("D50/10"));
  EXPECT_EQ(to_string(readings(table, "D50/10").front().viewing), "D50/10");
  EXPECT_THAT(refusal(table + "sand,71,1,16,A,2\n"), HasSubstr("line 3"));
  EXPECT_EQ(to_string(readings("label,L,a,b,viewing\nreed,70,1,15,A/2\n").front().viewing), "A/2");
  EXPECT_THAT(refusal("label,L,a,b,observer\nreed,70,1,15,20\n"), HasSubstr("2 or 10 degrees"));
}

TEST(Viewings, ASpectrumBesideALabDecidesAndSaysSo) {
  std::string table = spectral("", "0.4");
  table.insert(table.find('\n'), ",L,a,b");
  table.insert(table.size() - 1, ",80,0,0");
  const Reading reading = readings(table).front();
  EXPECT_NEAR(reading.lab.value.l, grey, 1e-5);
  ASSERT_EQ(reading.warnings.size(), 1U);
  EXPECT_THAT(reading.warnings.front(), HasSubstr("ΔE*ab 10.5 away, were not used"));
}

TEST(Ranges, CxfColoursHaveThem) {
  const Reading reading{.label = "reed",
                        .zone = {},
                        .lab = {.value = {70, 250, 15}},
                        .reflectance = {},
                        .viewing = viewing_from_string("D65/2"),
                        .count = 1,
                        .warnings = {},
                        .provenance = {}};
  EXPECT_THAT(refusal(to_cxf(std::span(&reading, 1))), HasSubstr("A from -200 to 200"));
  EXPECT_THAT(refusal("label,L,a,b\nreed,70,1e308,15\n"), HasSubstr("-200 to 200"));
  EXPECT_THAT(refusal("label,L,a,b\nreed,70,inf,15\n"), HasSubstr("finite"));
}

TEST(WrittenAndReadBack, NamesLightnessAndBands) {
  const std::vector<double> values(27, 0.4);
  for (const std::string name : {"plain", "two \"words\"", "\"", "#hash", "a\\b", "tab\there",
                                 "ends ", "ä ≤ 5 %", "<&>'", "=1+1"}) {
    for (const double l : {0.0, 99.5, 104.25, 149.0}) {
      Reading reading{.label = name,
                      .zone = {},
                      .lab = {.value = {l, -1.25, 20.125}},
                      .reflectance = {},
                      .viewing = viewing_from_string("D65/2"),
                      .count = 1,
                      .warnings = {},
                      .provenance = {}};
      std::string shown = name;
      for (char& c : shown) c = c == '\t' ? ' ' : c;
      for (const std::string& text :
           {to_cgats(std::span(&reading, 1)), to_cxf(std::span(&reading, 1))}) {
        const Reading back = readings(text).front();
        EXPECT_EQ(back.label, shown);
        EXPECT_EQ(back.lab.value.l, l);
      }
      reading.reflectance = Reflectance({402.5, 10.3, 27}, values);
      for (const std::string& text :
           {to_cgats(std::span(&reading, 1)), to_cxf(std::span(&reading, 1))}) {
        const Reading back = readings(text).front();
        ASSERT_TRUE(back.reflectance);
        EXPECT_NEAR(back.reflectance->grid().first_nm, 402.5, 1e-6);
        EXPECT_NEAR(back.reflectance->grid().step_nm, 10.3, 1e-6);
      }
    }
  }
}

TEST(WrittenAndReadBack, ALightOfOnesOwnGoesOutWithoutTheNameOfItsFile) {
  const Viewing mine{
      Illuminant("Anna Example clinic@0123abcd",
                 parse_power("nm,power\n380,1\n400,1\n420,1\n440,1\n460,1\n480,1\n500,1\n"
                             "520,1\n540,1\n560,1\n580,1\n600,1\n620,1\n640,1\n660,1\n680,1\n"
                             "700,1\n",
                             "l.csv")),
      Observer::deg2};
  const Reading reading{.label = "reed",
                        .zone = {},
                        .lab = {.value = {70, 1, 15}},
                        .reflectance = {},
                        .viewing = mine,
                        .count = 1,
                        .warnings = {},
                        .provenance = {}};
  for (const std::string& text :
       {to_cgats(std::span(&reading, 1)), to_cxf(std::span(&reading, 1))}) {
    EXPECT_EQ(text.find("Anna"), std::string::npos);
    EXPECT_THAT(text, HasSubstr("custom@0123abcd"));
    EXPECT_EQ(parse_measurements(text, "t", mine).front().viewing, mine);
    EXPECT_THROW((void)readings(text), DataError);
  }
}

}  // namespace
}  // namespace mamelon
