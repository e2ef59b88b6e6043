#include "mamelon/spectrum.h"

#include <cmath>
#include <limits>
#include <type_traits>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace mamelon {
namespace {

using testing::HasSubstr;

// Units do not convert: an absorption is no reflectance.
static_assert(!std::is_convertible_v<PerMm, Reflectance>);
static_assert(!std::is_constructible_v<Reflectance, PerMm>);
static_assert(!std::is_constructible_v<Power, Reflectance>);

const Grid ten{400, 10, 10};
const std::vector<double> values{.1, .13, .2, .28, .31, .3, .33, .45, .52, .55};

template <class Call>
std::string message_of(const Call& call) {
  try {
    call();
  } catch (const ArgumentError& error) {
    return error.what();
  }
  return "nothing was thrown";
}

std::string reflectance_message(std::vector<double> bands) {
  const Grid grid{400, 10, bands.size()};
  return message_of([&] { check_reflectance(Reflectance(grid, std::move(bands)), "tab 7"); });
}

TEST(Grid, MustBeEvenVisibleAndFineEnough) {
  EXPECT_NO_THROW(check_grid({360, 20, 22}));
  EXPECT_THAT(message_of([] {
                check_grid({400, 10, 2});
              }),
              HasSubstr("count: expected a whole number from 3 to 5000, got 2"));
  EXPECT_THAT(message_of([] {
                check_grid({400, 21, 16});
              }),
              HasSubstr("step_nm: expected a number above 0 and at most 20, got 21"));
  EXPECT_THROW(check_grid({400, 0, 16}), ArgumentError);
  EXPECT_THROW(check_grid({400, -10, 16}), ArgumentError);
  EXPECT_THROW(check_grid({std::nan(""), 10, 16}), ArgumentError);
  EXPECT_THAT(message_of([] {
                check_grid({0.4, 10, 16});
              }),
              HasSubstr("first_nm: expected a number from 200 to 2500"));
  EXPECT_THROW(check_grid({2490, 10, 3}), ArgumentError);
}

TEST(Spectrum, NeedsOneFiniteValueForEachBand) {
  EXPECT_THAT(message_of([] {
                (void)Reflectance({400, 10, 4}, {0.1, 0.2, 0.3});
              }),
              HasSubstr("4 bands needs as many values, got 3"));
  const double infinite = std::numeric_limits<double>::infinity();
  EXPECT_THAT(message_of([&] {
                (void)Power({400, 10, 3}, {1, infinite, 1});
              }),
              HasSubstr("at 410 nm is not a finite number"));
}

TEST(CheckReflectance, TellsPercentFromNonsense) {
  EXPECT_EQ(reflectance_message({0, 1, 2}), "nothing was thrown");
  EXPECT_THAT(reflectance_message({1.5, 60, 64, 66}), HasSubstr("looks like percent"));
  EXPECT_THAT(reflectance_message({0.6, 0.6, 64, 0.6}),
              HasSubstr("tab 7: a reflectance must lie in 0-2, got 64 at 420 nm"));
  EXPECT_THAT(reflectance_message({60, -0.01, 64, 66}), HasSubstr("must lie in 0-2"));
  EXPECT_THAT(reflectance_message({600, 620, 640, 660}), HasSubstr("must lie in 0-2"));
}

TEST(Resample, GivesTheSourceBackOnItsOwnBands) {
  const Reflectance source(ten, values);
  for (const auto how : {Interpolation::linear, Interpolation::cubic, Interpolation::sprague}) {
    EXPECT_EQ(resample(source, ten, how, Extrapolation::error), source);
    const Reflectance fine = resample(source, {400, 2.5, 37}, how, Extrapolation::error);
    for (std::size_t i = 0; i < source.size(); ++i) EXPECT_EQ(fine[4 * i], source[i]);
  }
}

// colour-science (SpragueInterpolator) and SciPy (CubicSpline, natural ends) at these wavelengths.
TEST(Resample, EqualsColourScienceAndSciPy) {
  const Reflectance source(ten, values);
  const auto at = [&](double wavelength, Interpolation how) {
    return resample(source, {wavelength, 0.5, 3}, how, Extrapolation::hold)[0];
  };
  struct Row {
    double wavelength;
    double sprague;
    double cubic;
  };
  for (const Row& row :
       {Row{402.5, 0.105256931724731, 0.105329148168701},
        Row{407, 0.117546366626794, 0.117693358490566},
        Row{413, 0.14685897458134, 0.146887791342952}, Row{431, 0.285633625, 0.285752395116537},
        Row{444.4, 0.306457472, 0.306874497846837}, Row{455, 0.304296875, 0.303290233074362},
        Row{483, 0.531041860645933, 0.531013358490566},
        Row{489, 0.54768783791866, 0.547558326304107}}) {
    EXPECT_NEAR(at(row.wavelength, Interpolation::sprague), row.sprague, 1e-14) << row.wavelength;
    EXPECT_NEAR(at(row.wavelength, Interpolation::cubic), row.cubic, 1e-14) << row.wavelength;
  }
}

TEST(Resample, SpragueIsExactForStraightLinesAndLinearForAll) {
  std::vector<double> line;
  for (std::size_t i = 0; i < ten.count; ++i) line.push_back(0.2 + 0.05 * static_cast<double>(i));
  const Reflectance source(ten, line);
  for (const auto how : {Interpolation::linear, Interpolation::cubic, Interpolation::sprague}) {
    const Reflectance fine = resample(source, {400, 1, 91}, how, Extrapolation::error);
    for (std::size_t i = 0; i < fine.size(); ++i)
      EXPECT_NEAR(fine[i], 0.2 + 0.005 * static_cast<double>(i), 1e-14);
  }
}

TEST(Resample, SaysWhatStandsOutsideTheRange) {
  const Reflectance source(ten, values);
  const Grid wide{380, 10, 14};
  EXPECT_THAT(message_of([&] {
                (void)resample(source, wide, Interpolation::linear, Extrapolation::error);
              }),
              HasSubstr("380-510 nm reaches outside the spectrum's 400-490 nm"));
  const Reflectance held = resample(source, wide, Interpolation::sprague, Extrapolation::hold);
  EXPECT_EQ(held[0], values.front());
  EXPECT_EQ(held[13], values.back());
  const Reflectance cut = resample(source, wide, Interpolation::sprague, Extrapolation::zero);
  EXPECT_EQ(cut[1], 0);
  EXPECT_EQ(cut[2], values.front());
  EXPECT_EQ(cut[12], 0);
  EXPECT_THROW((void)resample(Reflectance({400, 10, 5}, {.1, .2, .3, .2, .1}), {400, 5, 9},
                              Interpolation::sprague, Extrapolation::error),
               ArgumentError);
}

// SciPy: CubicSpline with natural ends, and numpy.interp.
TEST(ResampleIrregular, EqualsSciPy) {
  const std::vector<double> at{400, 407, 411, 420, 433, 450, 470, 490};
  const std::vector<double> bands{.1, .13, .2, .28, .31, .3, .33, .45};
  const Grid even{400, 15, 7};
  const auto cubic = resample_irregular<unit::Reflectance>(at, bands, even, Interpolation::cubic,
                                                           Extrapolation::error);
  const auto linear = resample_irregular<unit::Reflectance>(at, bands, even, Interpolation::linear,
                                                            Extrapolation::error);
  const double expected_cubic[] = {0.1,
                                   0.250023366450213,
                                   0.307311237309112,
                                   0.303831888500474,
                                   0.303765756649624,
                                   0.353432904310526,
                                   0.45};
  const double expected_linear[] = {
      0.1, 0.235555555555556, 0.303076923076923, 0.302941176470588, 0.315, 0.36, 0.45};
  for (std::size_t i = 0; i < even.count; ++i) {
    EXPECT_NEAR(cubic[i], expected_cubic[i], 1e-14);
    EXPECT_NEAR(linear[i], expected_linear[i], 1e-14);
  }
}

TEST(ResampleIrregular, NamesWhatIsWrong) {
  const Grid even{400, 10, 4};
  const auto call = [&](const std::vector<double>& at, const std::vector<double>& bands,
                        Interpolation how = Interpolation::linear) {
    return message_of(
        [&] { (void)resample_irregular<unit::Power>(at, bands, even, how, Extrapolation::error); });
  };
  EXPECT_THAT(call({400, 430}, {1, 1}), HasSubstr("at least 3 wavelengths"));
  EXPECT_THAT(call({400, 410, 430}, {1, 1}), HasSubstr("3 wavelengths and 2 values"));
  EXPECT_THAT(call({400, 420, 410}, {1, 1, 1}), HasSubstr("410 nm follows 420 nm"));
  EXPECT_THAT(call({400, 420, 430}, {1, std::nan(""), 1}), HasSubstr("value 2"));
  EXPECT_THAT(call({400, 420, 430}, {1, 1, 1}, Interpolation::sprague), HasSubstr("even steps"));
  EXPECT_THAT(call({400, 420, 425}, {1, 1, 1}), HasSubstr("reaches outside"));
  EXPECT_EQ(call({400, 420, 430}, {1, 1, 1}), "nothing was thrown");
}

// Stearns and Stearns 1988 on measured values throughout. colour-science 0.4.7 feeds corrected
// values back into the next band, which the paper's formula does not.
TEST(CorrectBandpass, IsTheFormulaOfStearnsAndStearns) {
  const Reflectance corrected = correct_bandpass(Reflectance(ten, values));
  EXPECT_NEAR(corrected[0], 1.083 * 0.1 - 0.083 * 0.13, 1e-15);
  EXPECT_NEAR(corrected[1], -0.083 * 0.1 + 1.166 * 0.13 - 0.083 * 0.2, 1e-15);
  EXPECT_NEAR(corrected[9], 1.083 * 0.55 - 0.083 * 0.52, 1e-15);
}

// A parabola seen through a triangle as wide as the step is raised by its second difference / 12;
// the correction must take that off again.
TEST(CorrectBandpass, UndoesATriangularPassband) {
  std::vector<double> seen;
  std::vector<double> truth;
  for (std::size_t i = 0; i < 12; ++i) {
    const double x = static_cast<double>(i) - 5.5;
    truth.push_back(0.2 + 0.01 * x * x);
    seen.push_back(truth.back() + 0.02 / 12);
  }
  const Reflectance corrected = correct_bandpass(Reflectance({400, 10, 12}, seen));
  for (std::size_t i = 1; i < 11; ++i) EXPECT_NEAR(corrected[i], truth[i], 1e-5);
}

}  // namespace
}  // namespace mamelon
