// ISO 28178 text and CxF3: what is read, what is refused, and exact round trips.

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mamelon/error.h"
#include "mamelon/files.h"

namespace mamelon {
namespace {

const Viewing& d50() {
  static const Viewing viewing{standard_illuminant("D50"), Observer::deg2};
  return viewing;
}

std::string message_of(const std::function<void()>& call) {
  try {
    call();
  } catch (const Error& error) {
    return error.what();
  }
  return "no error";
}

std::string refusal(const std::string& text, const std::optional<Viewing>& viewing = {}) {
  return message_of([&] { (void)parse_measurements(text, "m.txt", viewing); });
}

std::string cgats(const std::string& head, const std::string& fields, const std::string& data) {
  return "ISO28178\n" + head + "BEGIN_DATA_FORMAT\n" + fields + "\nEND_DATA_FORMAT\nBEGIN_DATA\n" +
         data + "\nEND_DATA\n";
}

const std::string under_d50 = "ILLUMINANT \"D50\"\nOBSERVER \"2\"\n";

Reading reading(const std::string& label, const Lab& lab) {
  Reading made{.label = label,
               .zone = {},
               .lab = {},
               .reflectance = {},
               .viewing = d50(),
               .count = 1,
               .warnings = {},
               .provenance = {}};
  made.lab.value = lab;
  return made;
}

Reflectance visible_curve() {
  std::vector<double> values(31, 1.0 / 3);
  values[0] = 0.1;
  return {Grid{400, 10, 31}, values};
}

TEST(Cgats, FieldsInAnyOrderQuotedNamesCommentsAndUnknownFields) {
  const auto readings =
      parse_measurements(cgats(under_d50 + "# a comment\nKEYWORD \"MOOD\"\nMOOD \"calm\"\n",
                               "LAB_B RGB_R SAMPLE_ID\nSAMPLE_NAME LAB_A LAB_L",
                               "18.5 12 1 \"reed mat\" -1.25 70 # fine\r\n20 13 2 \"sand\" 2 65.5"),
                         "m.txt", {});
  ASSERT_EQ(readings.size(), 2U);
  EXPECT_EQ(readings[0].label, "reed mat");
  EXPECT_EQ(readings[0].lab.value, (Lab{70, -1.25, 18.5}));
  EXPECT_EQ(readings[1].lab.value, (Lab{65.5, 2, 20}));
  EXPECT_EQ(readings[0].viewing, d50());
}

TEST(Cgats, SeveralTablesEachUnderItsOwnConditions) {
  const std::string second = "ILLUMINANT \"A\"\nOBSERVER \"10\"\nBEGIN_DATA\nx 60 1 2\nEND_DATA\n";
  const auto readings = parse_measurements(
      cgats(under_d50, "SAMPLE_ID LAB_L LAB_A LAB_B", "w 70 1 2") + second, "m.txt", {});
  ASSERT_EQ(readings.size(), 2U);
  EXPECT_EQ(to_string(readings[0].viewing), "D50/2");
  EXPECT_EQ(to_string(readings[1].viewing), "A/10");
}

TEST(Cgats, PercentIsTakenFromTheNormTheFieldNamesOrTheValues) {
  const auto fields = [](const std::string& prefix) {
    std::string out = "SAMPLE_ID";
    for (int nm = 420; nm <= 680; nm += 20) out += " " + prefix + std::to_string(nm);
    return out;
  };
  const auto row = [](double last) {
    std::string out = "x";
    for (int i = 0; i < 13; ++i) out += " " + std::to_string(last / 2);
    return out + " " + std::to_string(last);
  };
  std::string falling = "SAMPLE_ID";
  std::string falling_row = "x 0.75";
  for (int nm = 680; nm >= 420; nm -= 20) falling += " SPEC_" + std::to_string(nm);
  for (int i = 0; i < 13; ++i) falling_row += " 0.375";
  for (const std::string& text :
       {cgats("", fields("SPECTRAL_NM"), row(0.75)),
        cgats("SPECTRAL_NORM \"100\"\n", fields("SPECTRAL_NM"), row(75)),
        cgats("", fields("SPECTRAL_PCT"), row(75)), cgats("", fields("SPECTRAL_NM"), row(75)),
        cgats("", falling, falling_row)}) {
    const auto readings = parse_measurements(text, "m.txt", d50());
    ASSERT_TRUE(readings[0].reflectance);
    EXPECT_EQ(readings[0].reflectance->grid(), (Grid{420, 20, 14}));
    EXPECT_EQ((*readings[0].reflectance)[0], 0.375);
    EXPECT_EQ((*readings[0].reflectance)[13], 0.75);
  }
}

TEST(Cgats, RefusalsNameTheLine) {
  const std::string fields = "SAMPLE_ID LAB_L LAB_A LAB_B";
  EXPECT_NE(refusal(cgats("", fields, "x 70 1 2")).find("does not say under which illuminant"),
            std::string::npos);
  EXPECT_NE(refusal(cgats(under_d50, fields, "x 70 1")).find("line 8: has 3 values"),
            std::string::npos);
  EXPECT_NE(refusal(cgats(under_d50, fields, "x 70 - 2")).find("column \"LAB_A\""),
            std::string::npos);
  EXPECT_NE(refusal(cgats(under_d50, fields + " LAB_L", "x 70 1 2 70")).find("both mean"),
            std::string::npos);
  EXPECT_NE(refusal(cgats("ILLUMINANT \"D50\"\nILLUMINANT \"A\"\n", fields, "x 70 1 2"))
                .find("line 3: the illuminants D50 and A"),
            std::string::npos);
  EXPECT_NE(refusal(cgats("OBSERVER \"5\"\n", fields, "x 70 1 2")).find("2 or 10 degrees"),
            std::string::npos);
  EXPECT_NE(refusal(cgats("NUMBER_OF_SETS 3\n" + under_d50, fields, "x 70 1 2")).find("says 3"),
            std::string::npos);
  EXPECT_NE(refusal("ISO28178\nBEGIN_DATA\nx\nEND_DATA\n").find("no BEGIN_DATA_FORMAT"),
            std::string::npos);
  EXPECT_NE(refusal("ISO28178\nORIGINATOR \"x\n").find("line 2: a quote"), std::string::npos);
  EXPECT_NE(refusal("ISO28178\n").find("has no BEGIN_DATA"), std::string::npos);
  EXPECT_NE(refusal(cgats("", "SAMPLE_ID SPEC_400 SPEC_410 SPEC_430", "x .1 .2 .3"))
                .find("not evenly spaced"),
            std::string::npos);
  EXPECT_NE(refusal(cgats(under_d50, fields, "x 70 1 2"), viewing_from_string("D65/2"))
                .find("stated under D50/2, not under D65/2"),
            std::string::npos);
}

TEST(Cgats, RoundTripIsExact) {
  std::vector<Reading> readings = {reading("a \"b\"", {70.123456789012345, -1.0 / 3, 18}),
                                   reading("c", {0.1, 0.2, 0.30000000000000004})};
  const auto again = parse_measurements(to_cgats(readings), "m.txt", {});
  ASSERT_EQ(again.size(), 2U);
  EXPECT_EQ(again[0].label, "a \"b\"");
  for (std::size_t i = 0; i < 2; ++i) EXPECT_EQ(again[i].lab.value, readings[i].lab.value);
  for (Reading& r : readings) r.reflectance = visible_curve();
  const auto spectra = parse_measurements(to_cgats(readings), "m.txt", {});
  ASSERT_TRUE(spectra[1].reflectance);
  EXPECT_EQ(*spectra[1].reflectance, *readings[1].reflectance);
  EXPECT_THROW((void)to_cgats({}), ArgumentError);
  readings[0].reflectance.reset();
  EXPECT_THROW((void)to_cgats(readings), ArgumentError);
}

std::string cxf(const std::string& objects, const std::string& increment = "10") {
  return R"(<?xml version="1.0" encoding="UTF-8"?>
<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core">
 <cc:Resources><cc:ObjectCollection>)" +
         objects + R"(</cc:ObjectCollection>
  <cc:ColorSpecificationCollection><cc:ColorSpecification Id="s">
   <cc:TristimulusSpec><cc:Illuminant>D50</cc:Illuminant><cc:Observer>2_Degree</cc:Observer>
    <cc:Method>E308_Table5</cc:Method></cc:TristimulusSpec>
   <cc:MeasurementSpec><cc:WavelengthRange StartWL="400" Increment=")" +
         increment + R"("/></cc:MeasurementSpec>
  </cc:ColorSpecification></cc:ColorSpecificationCollection></cc:Resources></cc:CxF>)";
}

std::string object(const std::string& values, const std::string& id = "1") {
  return "<cc:Object ObjectType='Target' Name='reed' Id='" + id + "'><cc:ColorValues>" + values +
         "</cc:ColorValues></cc:Object>";
}

const std::string lab_value =
    "<cc:ColorCIELab ColorSpecification='s'><cc:L>70.5</cc:L><cc:A>-1</cc:A><cc:B>18</cc:B>"
    "</cc:ColorCIELab>";

TEST(Cxf, ReadsSpectraBeforeColoursAndAnyPrefix) {
  const auto colours = parse_measurements(cxf(object(lab_value)), "m.cxf", {});
  EXPECT_EQ(colours[0].lab.value, (Lab{70.5, -1, 18}));
  EXPECT_EQ(to_string(colours[0].viewing), "D50/2");
  std::string spectrum = "<cc:ReflectanceSpectrum ColorSpecification='s'>0.25 0.5\n 0.75";
  for (int i = 3; i < 31; ++i) spectrum += " 0.75";
  spectrum += "</cc:ReflectanceSpectrum>";
  const auto spectra = parse_measurements(cxf(object(lab_value + spectrum)), "m.cxf", {});
  ASSERT_TRUE(spectra[0].reflectance);
  EXPECT_EQ(spectra[0].reflectance->grid(), (Grid{400, 10, 31}));
  EXPECT_EQ((*spectra[0].reflectance)[1], 0.5);
  EXPECT_EQ((*spectra[0].reflectance)[30], 0.75);
  std::string plain = cxf(object(lab_value));
  for (auto at = plain.find("cc:"); at != std::string::npos; at = plain.find("cc:")) {
    plain.erase(at, 3);
  }
  plain.replace(plain.find("xmlns:cc"), 8, "xmlns");
  EXPECT_EQ(parse_measurements(plain, "m.cxf", {})[0].lab.value, (Lab{70.5, -1, 18}));
}

TEST(Cxf, RefusalsNameTheObject) {
  EXPECT_NE(refusal(cxf(object("<cc:ColorCIELab ColorSpecification='t'/>")))
                .find("object \"reed\": refers to the ColorSpecification \"t\""),
            std::string::npos);
  EXPECT_NE(refusal(cxf(object("<cc:ColorCIELab ColorSpecification='s'><cc:L>x</cc:L>"
                               "</cc:ColorCIELab>")))
                .find("expected a finite number in L, got \"x\""),
            std::string::npos);
  EXPECT_NE(refusal(cxf(object("<cc:ReflectanceSpectrum ColorSpecification='s'>25 50 75"
                               "</cc:ReflectanceSpectrum>")))
                .find("expected a reflectance factor"),
            std::string::npos);
  EXPECT_NE(refusal(cxf(object(lab_value) + object(lab_value))).find("Id \"1\" is used twice"),
            std::string::npos);
  EXPECT_NE(refusal(cxf("")).find("has no object"), std::string::npos);
  EXPECT_NE(refusal("<CxF xmlns='urn:other'/>").find("namespace"), std::string::npos);
  EXPECT_NE(refusal("<a>\n<b>\n</a>").find("line 3"), std::string::npos);
  EXPECT_NE(refusal("<!DOCTYPE a [<!ENTITY b 'b'>]><a/>").find("document type"), std::string::npos);
  EXPECT_NE(refusal(cxf(object(lab_value)), viewing_from_string("A/10"))
                .find("stated under D50/2, not under A/10"),
            std::string::npos);
}

TEST(Cxf, RoundTripIsExactAndNamesStayText) {
  std::vector<Reading> readings = {reading("<b>&\"'", {70.123456789012345, -1.0 / 3, 18}),
                                   reading("c", {0.1, 0.2, 0.3})};
  const auto again = parse_measurements(to_cxf(readings), "m.cxf", {});
  ASSERT_EQ(again.size(), 2U);
  EXPECT_EQ(again[0].label, "<b>&\"'");
  for (std::size_t i = 0; i < 2; ++i) EXPECT_EQ(again[i].lab.value, readings[i].lab.value);
  for (Reading& r : readings) r.reflectance = visible_curve();
  EXPECT_EQ(*parse_measurements(to_cxf(readings), "m.cxf", {})[0].reflectance,
            *readings[0].reflectance);
  EXPECT_THROW((void)to_cxf({}), ArgumentError);
}

// What was noted of a reading beside its colour comes back from either format.
TEST(Exchange, CircumstancesAreKept) {
  std::vector<RepeatReading> given;
  for (const char* day : {"1.3.2025", "2.3.2025"})
    for (const char* tab : {"oat", "flax \"2\""}) {
      given.push_back({.reading = reading(tab, {70, 1, 15}),
                       .operator_name = "Zoë & co",
                       .day = day,
                       .instrument = "bench <1>",
                       .row = given.size() + 1});
      given.back().reading.zone = "cervical";
    }
  given.back().operator_name.clear();
  const std::filesystem::path file =
      std::filesystem::path(testing::TempDir()) / "circumstances.txt";
  for (const std::string& text : {repeats_to_cgats(given), repeats_to_cxf(given)}) {
    write_file_atomically(file, text);
    const auto back = read_repeats(file, {});
    ASSERT_EQ(back.size(), given.size());
    for (std::size_t i = 0; i < given.size(); ++i) {
      EXPECT_EQ(back[i].reading.label, given[i].reading.label);
      EXPECT_EQ(back[i].reading.zone, given[i].reading.zone);
      EXPECT_EQ(back[i].operator_name, given[i].operator_name);
      EXPECT_EQ(back[i].day, given[i].day);
      EXPECT_EQ(back[i].instrument, given[i].instrument);
      EXPECT_EQ(back[i].reading.viewing, d50());
    }
  }
  std::filesystem::remove(file);
}

TEST(Exchange, TheInstrumentAndTheDayStandWhereTheFormatsPutThem) {
  const std::filesystem::path file = std::filesystem::path(testing::TempDir()) / "device.txt";
  write_file_atomically(file, cgats(under_d50 + "INSTRUMENTATION \"bench one\"\n",
                                    "SAMPLE_NAME LAB_L LAB_A LAB_B", "oat 70 1 15"));
  EXPECT_EQ(read_repeats(file, {}).at(0).instrument, "bench one");
  std::string cxf = to_cxf(std::vector<Reading>{reading("oat", {70, 1, 15})});
  const auto put = [&](const std::string& old, const std::string& now) {
    const std::size_t at = cxf.rfind(old);
    ASSERT_NE(at, std::string::npos);
    cxf.replace(at, old.size(), now);
  };
  put("<cc:CreationDate>1970-01-01T00:00:00Z", "<cc:CreationDate>2025-03-01T10:20:30Z");
  put("<cc:MeasurementSpec>",
      "<cc:MeasurementSpec><cc:Device><cc:Model>bench two</cc:Model></cc:Device>");
  write_file_atomically(file, cxf);
  EXPECT_EQ(read_repeats(file, {}).at(0).day, "2025-03-01");
  EXPECT_EQ(read_repeats(file, {}).at(0).instrument, "bench two");
  std::filesystem::remove(file);
}

}  // namespace
}  // namespace mamelon
