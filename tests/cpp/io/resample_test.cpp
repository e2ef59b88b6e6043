// Spectra at uneven wavelengths, which are resampled only when asked, and lights from files.

#include <cmath>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/error.h"
#include "mamelon/files.h"

namespace mamelon {
namespace {

using testing::HasSubstr;

const Viewing d65{standard_illuminant("D65"), Observer::deg2};

// A straight line, which a natural cubic spline keeps.
double line(double nm) {
  return 0.1 + 0.001 * (nm - 400);
}

std::string number(double value) {
  return std::to_string(value);
}

std::string uneven_table(double (*curve)(double)) {
  std::string header = "label";
  std::string row = "x";
  for (double nm = 402; nm < 705; nm += nm < 550 ? 7 : 11) {
    header += "," + number(nm);
    row += "," + number(curve(nm));
  }
  return header + "\n" + row + "\n";
}

template <class Failure, class Call>
std::string sentence(const Call& call) {
  try {
    call();
  } catch (const Failure& failure) {
    return failure.what();
  }
  return {};
}

TEST(Resampling, IsRefusedUnlessAskedFor) {
  EXPECT_THAT(sentence<DataError>([] { (void)parse_table(uneven_table(line), "t.csv", d65); }),
              HasSubstr("not evenly spaced"));
}

TEST(Resampling, KeepsALineAndSaysSo) {
  const auto readings = parse_table(uneven_table(line), "t.csv", d65, {.resample_nm = 10});
  ASSERT_TRUE(readings.at(0).reflectance);
  const Reflectance& curve = *readings[0].reflectance;
  // Whole multiples of the step within the measured range, nothing beyond it.
  EXPECT_EQ(curve.grid(), (Grid{410, 10, 29}));
  for (std::size_t i = 0; i < curve.size(); ++i) {
    EXPECT_NEAR(curve[i], line(curve.grid().wavelength_nm(i)), 2e-6);
  }
  EXPECT_THAT(readings[0].warnings, testing::Contains(HasSubstr("resampled to steps of 10 nm")));
  const auto finer = parse_table(uneven_table(line), "t.csv", d65, {.resample_nm = 5});
  EXPECT_NE(finer[0].provenance, readings[0].provenance);
}

TEST(Resampling, RefusesGapsAndStepsThatHideTheSpectrum) {
  const std::string gap = "label,400,410,440,450\nx,.1,.1,.1,.1\n";
  EXPECT_THAT(sentence<DataError>([&] { (void)parse_table(gap, "t", d65, {.resample_nm = 10}); }),
              HasSubstr("nothing is known between 410 and 440 nm"));
  for (const double step : {0.0, -5.0, 25.0, std::nan("")}) {
    EXPECT_THAT(sentence<ArgumentError>([&] {
                  (void)parse_table(uneven_table(line), "t", d65, {.resample_nm = step});
                }),
                HasSubstr("resampled to steps above 0"));
  }
  EXPECT_THAT(sentence<DataError>([] {
                (void)parse_table("label,401,402,409\nx,.1,.1,.1\n", "t", d65, {.resample_nm = 20});
              }),
              HasSubstr("at least 3 wavelengths"));
}

TEST(Resampling, NeverGoesBelowZeroBesideADarkBand) {
  std::string header = "label,400,413,420,433,440,451,460";
  std::string row = "x,0.9,0.9,0.9,0,0,0,0";
  for (int nm = 480; nm <= 700; nm += 20) {
    header += "," + std::to_string(nm);
    row += ",0";
  }
  const std::string dark = header + "\n" + row + "\n";
  const auto readings = parse_table(dark, "t", d65, {.resample_nm = 5});
  for (const double value : readings.at(0).reflectance->values()) EXPECT_GE(value, 0);
}

TEST(Resampling, ServesFloorsAndExchangeFilesToo) {
  std::string rows;
  std::string fields;
  std::string values;
  for (double nm = 400; nm <= 701; nm += nm < 407 ? 7 : 13.5) {
    rows += number(nm) + "," + number(line(nm)) + "\n";
    fields += " SPECTRAL_NM" + number(nm);
    values += " " + number(line(nm));
  }
  const Reflectance floor = parse_reflectance("nm,r\n" + rows, "f", {.resample_nm = 10});
  EXPECT_EQ(floor.grid().first_nm, 400);
  EXPECT_NEAR(floor[1], 0.11, 1e-6);
  const std::string cgats = "ISO28178\nSPECTRAL_NORM 1\nBEGIN_DATA_FORMAT\nSAMPLE_ID" + fields +
                            "\nEND_DATA_FORMAT\nBEGIN_DATA\n1" + values + "\nEND_DATA\n";
  EXPECT_THROW((void)parse_measurements(cgats, "m.txt", d65), DataError);
  const auto readings = parse_measurements(cgats, "m.txt", d65, {.resample_nm = 10});
  EXPECT_NEAR((*readings.at(0).reflectance)[1], 0.11, 1e-6);
}

// Instruments of 3⅓ nm name their fields by whole nanometres; keywords state the exact range.
TEST(Cgats, RoundedFieldNamesTakeTheGridThatKeywordsState) {
  std::string fields;
  std::string values;
  const Grid grid{380, 10.0 / 3, 106};
  for (std::size_t i = 0; i < grid.count; ++i) {
    fields += " SPEC_" + std::to_string(std::lround(grid.wavelength_nm(i)));
    values += " " + number(40 + 0.1 * static_cast<double>(i));
  }
  const auto text = [&](const std::string& keywords) {
    return "CTI3\n" + keywords + "BEGIN_DATA_FORMAT\nSAMPLE_ID" + fields +
           "\nEND_DATA_FORMAT\nBEGIN_DATA\n1" + values + "\nEND_DATA\n";
  };
  EXPECT_THROW((void)parse_measurements(text(""), "m.ti3", d65), DataError);
  const auto readings = parse_measurements(
      text("SPECTRAL_BANDS \"106\"\nSPECTRAL_START_NM \"380.0\"\nSPECTRAL_END_NM \"730.0\"\n"),
      "m.ti3", d65);
  EXPECT_EQ(readings.at(0).reflectance->grid().count, 106U);
  EXPECT_NEAR(readings[0].reflectance->grid().step_nm, 10.0 / 3, 1e-9);
  // Keywords that contradict the fields are not believed.
  EXPECT_THROW((void)parse_measurements(
                   text("SPECTRAL_BANDS \"106\"\nSPECTRAL_START_NM \"400.0\"\nSPECTRAL_END_NM "
                        "\"750.0\"\n"),
                   "m.ti3", d65),
               DataError);
}

TEST(Light, ReadsATableOrExchangeTextAndRefusesTheRest) {
  std::string rows;
  std::string fields;
  std::string values;
  std::vector<double> wanted;
  for (int nm = 400; nm <= 700; nm += 10) {
    wanted.push_back(nm == 410 ? 30 : nm == 420 ? 0 : 250.5);
    rows += std::to_string(nm) + "," + number(wanted.back()) + "\n";
    fields += "SPEC_" + std::to_string(nm) + " ";
    values += number(wanted.back()) + " ";
  }
  EXPECT_EQ(parse_power("nm,power\n" + rows, "l").values(), wanted);
  const std::string cgats = "SPECT\nSPECTRAL_NORM \"100.0\"\nBEGIN_DATA_FORMAT\n" + fields +
                            "\nEND_DATA_FORMAT\nBEGIN_DATA\n" + values + "\nEND_DATA\n";
  EXPECT_EQ(parse_power(cgats, "l.sp").values(), wanted);
  const auto refused = [](const std::string& text) {
    return sentence<DataError>([&] { (void)parse_power(text, "l"); });
  };
  EXPECT_THAT(refused("nm,power\n400,0\n410,0\n420,0\n"), HasSubstr("no power"));
  EXPECT_THAT(refused("nm,power\n400,1\n410,-1\n420,0\n"), HasSubstr("expected a power from 0"));
  EXPECT_THAT(refused("nm,power\n400,1\n410,1\n425,1\n"), HasSubstr("not evenly spaced"));
  EXPECT_THAT(refused("SPECT\nBEGIN_DATA_FORMAT\n" + fields + "\nEND_DATA_FORMAT\nBEGIN_DATA\n" +
                      values + "\n" + values + "\nEND_DATA\n"),
              HasSubstr("several spectra"));
  EXPECT_THAT(refused("SPECT\nBEGIN_DATA_FORMAT\nLAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n"
                      "1 2 3\nEND_DATA\n"),
              HasSubstr("no spectrum"));
}

}  // namespace
}  // namespace mamelon
