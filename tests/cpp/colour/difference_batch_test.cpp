// The batch kernels beside the scalar double `de00`, on every instruction set of this processor.

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>
#include <mutex>
#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mamelon/batch.h"
#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "base/parallel.h"
#include "every_target.h"
#include "sharma_pairs.h"
#include "vectors.h"

namespace mamelon {
namespace {

using testing_data::on_every_target;
using testing_data::sharma;

struct Gamut {
  double low[3];
  double high[3];
};
constexpr Gamut tooth{{55, -3, 5}, {90, 10, 40}};  // natural teeth and restorations, with margin
constexpr Gamut whole{{0, -128, -128}, {100, 128, 128}};

template <class T>
std::vector<T> random_lab(const Gamut& gamut, std::size_t count, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::vector<T> lab(3 * count);
  for (std::size_t i = 0; i < lab.size(); ++i) {
    std::uniform_real_distribution<double> range(gamut.low[i % 3], gamut.high[i % 3]);
    lab[i] = static_cast<T>(range(random));
  }
  return lab;
}

template <class T>
LabRows<T> rows(const std::vector<T>& lab) {
  return LabRows<T>::interleaved(lab);
}

template <class T>
Lab at(const std::vector<T>& lab, std::size_t i) {
  return {static_cast<double>(lab[3 * i]), static_cast<double>(lab[3 * i + 1]),
          static_cast<double>(lab[3 * i + 2])};
}

template <class T>
std::vector<T> de00_of(const std::vector<T>& reference, const std::vector<T>& sample,
                       const BatchOptions& options = {}) {
  std::vector<T> de(reference.size() / 3);
  de00_rows<T>(rows(reference), rows(sample), de, options);
  return de;
}

template <class T>
bool same_bits(const std::vector<T>& a, const std::vector<T>& b) {
  return a.size() == b.size() && std::memcmp(a.data(), b.data(), a.size() * sizeof(T)) == 0;
}

// Largest error over `pairs` random pairs; every pair is also swapped.
template <class T>
double largest_error(const Gamut& gamut, std::size_t pairs) {
  constexpr std::size_t chunk = 50000;
  double largest = 0;
  std::mutex guard;
  detail::parallel_for(pairs, chunk, [&](std::size_t begin, std::size_t end) {
    const auto a = random_lab<T>(gamut, end - begin, 2 * begin);
    const auto b = random_lab<T>(gamut, end - begin, 2 * begin + 1);
    const auto de = de00_of(a, b, {.threads = 1});
    const auto swapped = de00_of(b, a, {.threads = 1});
    double here = 0;
    for (std::size_t i = 0; i < de.size(); ++i) {
      const double error = std::abs(static_cast<double>(de[i]) - de00(at(a, i), at(b, i)));
      here = std::isnan(error) ? std::numeric_limits<double>::infinity() : std::max(here, error);
    }
    if (!same_bits(de, swapped)) here = std::numeric_limits<double>::infinity();
    const std::scoped_lock lock(guard);
    largest = std::max(largest, here);
  });
  return largest;
}

TEST(DifferenceBatch, TenMillionRandomPairsStayWithinTheStatedError) {
  const double float_tooth = largest_error<float>(tooth, 10'000'000);
  const double float_whole = largest_error<float>(whole, 10'000'000);
  const double double_tooth = largest_error<double>(tooth, 10'000'000);
  const double double_whole = largest_error<double>(whole, 10'000'000);
  EXPECT_LE(float_tooth, 1e-4);
  EXPECT_LE(float_whole, 1e-4);
  EXPECT_LE(double_tooth, 1e-11);
  EXPECT_LE(double_whole, 1e-11);
  RecordProperty("float_tooth", std::to_string(float_tooth * 1e6) + "e-6");
  RecordProperty("float_whole", std::to_string(float_whole * 1e6) + "e-6");
  RecordProperty("double_tooth", std::to_string(double_tooth * 1e12) + "e-12");
  RecordProperty("double_whole", std::to_string(double_whole * 1e12) + "e-12");
}

TEST(DifferenceBatch, EveryInstructionSetStaysWithinTheStatedError) {
  on_every_target([](const std::string& target) {
    EXPECT_LE(largest_error<float>(tooth, 200'000), 1e-4) << target;
    EXPECT_LE(largest_error<float>(whole, 200'000), 1e-4) << target;
    EXPECT_LE(largest_error<double>(tooth, 200'000), 1e-11) << target;
    EXPECT_LE(largest_error<double>(whole, 200'000), 1e-11) << target;
  });
}

template <class T>
void check_sharma(const std::string& target) {
  std::vector<T> a;
  std::vector<T> b;
  for (const auto& pair : sharma) {
    for (const double v : {pair.first.l, pair.first.a, pair.first.b}) {
      a.push_back(static_cast<T>(v));
    }
    for (const double v : {pair.second.l, pair.second.a, pair.second.b}) {
      b.push_back(static_cast<T>(v));
    }
  }
  const auto de = de00_of(a, b);
  const auto swapped = de00_of(b, a);
  ASSERT_EQ(de.size(), 34U);
  for (std::size_t i = 0; i < de.size(); ++i) {
    EXPECT_EQ(std::round(static_cast<double>(de[i]) * 1e4), std::round(sharma[i].de00 * 1e4))
        << target << ", pair " << i + 1;
  }
  EXPECT_TRUE(same_bits(de, swapped)) << target;
}

// Sharma, Wu, Dalal 2005, Table 1.
TEST(DifferenceBatch, AllPairsOfSharmaWuAndDalalToFourDecimals) {
  on_every_target([](const std::string& target) {
    check_sharma<float>(target + " float");
    check_sharma<double>(target + " double");
  });
}

// The same vectors that hold the scalar function (difference_test.cpp): near neutral, zero chroma,
// the half turn and its neighbours in the last place, hues that sum to 360°.
TEST(DifferenceBatch, AgreesWith40DigitsWhereHuesAreHard) {
  on_every_target([](const std::string& target) {
    for (const double kl : {1.0, 2.0}) {
      std::vector<double> a;
      std::vector<double> b;
      std::vector<double> expected;
      for (const testing_data::Row& row : testing_data::rows_of("de00_40_digits.csv")) {
        if (testing_data::number(row[6]) != kl) continue;
        for (std::size_t i = 0; i < 3; ++i) {
          a.push_back(testing_data::number(row[i]));
          b.push_back(testing_data::number(row[i + 3]));
        }
        expected.push_back(testing_data::number(row[7]));
      }
      ASSERT_GT(expected.size(), 100U);
      const auto de = de00_of(a, b, {.weights = {kl, 1, 1}});
      for (std::size_t i = 0; i < de.size(); ++i) {
        EXPECT_NEAR(de[i], expected[i], 1e-11) << target << ", kl " << kl << ", row " << i;
      }
    }
  });
}

// Opposite hues on a lattice, where products round to the same although they differ or do not.
TEST(DifferenceBatch, OppositeAndMirroredHuesOnALattice) {
  std::vector<double> a;
  std::vector<double> b;
  for (int i = -12; i <= 12; ++i) {
    for (int j = -12; j <= 12; ++j) {
      for (const double factor : {-3.0, -1.0, -0.1, -0.7, 0.3}) {
        for (const double mirror : {1.0, -1.0}) {
          a.insert(a.end(), {60, 0.1 * i, 0.7 * j});
          b.insert(b.end(), {65, 0.1 * i * factor, 0.7 * j * factor * mirror});
        }
      }
    }
  }
  const std::vector<float> float_a(a.begin(), a.end());
  const std::vector<float> float_b(b.begin(), b.end());
  on_every_target([&](const std::string& target) {
    const auto de = de00_of(a, b);
    const auto float_de = de00_of(float_a, float_b);
    for (std::size_t i = 0; i < de.size(); ++i) {
      ASSERT_NEAR(de[i], de00(at(a, i), at(b, i)), 1e-11) << target << ", pair " << i;
      ASSERT_NEAR(static_cast<double>(float_de[i]), de00(at(float_a, i), at(float_b, i)), 1e-4)
          << target << ", pair " << i;
    }
    EXPECT_TRUE(same_bits(de, de00_of(b, a))) << target;
    EXPECT_TRUE(same_bits(float_de, de00_of(float_b, float_a))) << target;
  });
}

template <class T>
void check_zero_on_itself(const std::string& target) {
  auto lab = random_lab<T>(whole, 10000, 3);
  for (std::size_t i = 0; i < 300; ++i) lab[3 * i + 1 + i % 2] = 0;  // on the axes
  for (std::size_t i = 0; i < 100; ++i) lab[3 * i + 1] = lab[3 * i + 2] = 0;
  for (const T de : de00_of(lab, lab)) ASSERT_EQ(de, 0) << target;
}

TEST(DifferenceBatch, ZeroOnItselfToTheBit) {
  on_every_target([](const std::string& target) {
    check_zero_on_itself<float>(target);
    check_zero_on_itself<double>(target);
  });
}

TEST(DifferenceBatch, DoubleGivesTheSameBitsOnEveryInstructionSet) {
  for (const Gamut& gamut : {tooth, whole}) {
    const auto a = random_lab<double>(gamut, 100'001, 11);
    const auto b = random_lab<double>(gamut, 100'001, 12);
    std::vector<double> first;
    on_every_target([&](const std::string& target) {
      const auto de = de00_of(a, b);
      if (first.empty()) first = de;
      EXPECT_TRUE(same_bits(first, de)) << target;
    });
  }
}

template <class T>
void check_threads() {
  const auto a = random_lab<T>(whole, 70'003, 21);
  const auto b = random_lab<T>(whole, 70'003, 22);
  const auto one = de00_of(a, b, {.threads = 1});
  for (const std::size_t threads : {2U, 3U, 8U}) {
    EXPECT_TRUE(same_bits(one, de00_of(a, b, {.threads = threads})));
  }
  // A row alone, and the same rows elsewhere in an array.
  for (const std::size_t i : {std::size_t{0}, std::size_t{255}, std::size_t{70'002}}) {
    T alone = 0;
    de00_rows<T>(LabRows<T>::interleaved(std::span(a).subspan(3 * i, 3)),
                 LabRows<T>::interleaved(std::span(b).subspan(3 * i, 3)), std::span<T>(&alone, 1));
    EXPECT_EQ(alone, one[i]);
  }
  std::vector<T> columns[6];
  for (std::size_t i = 0; i < one.size(); ++i) {
    for (std::size_t c = 0; c < 3; ++c) {
      columns[c].push_back(a[3 * i + c]);
      columns[c + 3].push_back(b[3 * i + c]);
    }
  }
  std::vector<T> de(one.size());
  de00_rows<T>(LabRows<T>::columns(columns[0], columns[1], columns[2]),
               LabRows<T>::columns(columns[3], columns[4], columns[5]), de);
  EXPECT_TRUE(same_bits(one, de));
}

TEST(DifferenceBatch, SameBitsForAnyThreadsPlaceAndLayout) {
  check_threads<float>();
  check_threads<double>();
}

template <class T>
void check_nan(const std::string& target) {
  const T nan = std::numeric_limits<T>::quiet_NaN();
  auto a = random_lab<T>(tooth, 1000, 5);
  const auto b = random_lab<T>(tooth, 1000, 6);
  const auto clean = de00_of(a, b);
  for (std::size_t i = 0; i < 1000; i += 7) a[3 * i + i % 3] = nan;
  const auto de = de00_of(a, b);
  std::vector<std::uint32_t> index(1000);
  std::vector<T> nearest(1000);
  nearest_rows<T>(rows(a), LabRows<T>::interleaved(std::span(b).first(30)), index, nearest);
  for (std::size_t i = 0; i < 1000; ++i) {
    if (i % 7 == 0) {
      EXPECT_TRUE(std::isnan(de[i])) << target;
      EXPECT_TRUE(std::isnan(nearest[i])) << target;
      EXPECT_EQ(index[i], no_nearest) << target;
    } else {
      EXPECT_EQ(de[i], clean[i]) << target;
      EXPECT_LT(index[i], 10U) << target;
    }
  }
}

TEST(DifferenceBatch, NanRowsStayNanAndLeaveTheirNeighboursAlone) {
  on_every_target([](const std::string& target) {
    check_nan<float>(target);
    check_nan<double>(target);
  });
}

template <class T>
void check_table(std::size_t n, std::size_t m) {
  const auto a = random_lab<T>(whole, n, 31);
  const auto b = random_lab<T>(whole, m, 32);
  std::vector<T> table(n * m);
  const BatchOptions options{.weights = {2, 1, 1}};
  de00_table<T>(rows(a), rows(b), table, options);
  std::vector<std::uint32_t> index(n);
  std::vector<T> nearest(n);
  nearest_rows<T>(rows(a), rows(b), index, nearest, options);
  for (std::size_t i = 0; i < n; ++i) {
    std::vector<T> row;
    for (std::size_t j = 0; j < m; ++j)
      row.insert(row.end(), a.begin() + 3 * static_cast<std::ptrdiff_t>(i),
                 a.begin() + 3 * static_cast<std::ptrdiff_t>(i) + 3);
    const auto de = de00_of(row, b, options);
    for (std::size_t j = 0; j < m; ++j) ASSERT_EQ(table[i * m + j], de[j]) << i << ' ' << j;
    const auto best = std::min_element(de.begin(), de.end());
    EXPECT_EQ(index[i], best - de.begin());
    EXPECT_NEAR(nearest[i], *best, 4 * std::numeric_limits<T>::epsilon() * *best);
  }
}

TEST(DifferenceBatch, TableAndNearestAreTheRows) {
  for (const std::size_t m : {1U, 16U, 300U}) {
    check_table<float>(300, m);
    check_table<double>(300, m);
  }
}

TEST(DifferenceBatch, FirstOfEquallyNearCandidates) {
  const std::vector<double> colour{60, 3, 20};
  const std::vector<double> candidates{80, 3, 20, 61, 3, 20, 61, 3, 20};
  std::vector<std::uint32_t> index(1);
  std::vector<double> de(1);
  nearest_rows<double>(rows(colour), rows(candidates), index, de);
  EXPECT_EQ(index[0], 1U);
}

TEST(DifferenceBatch, SquaredIsTheSquare) {
  const auto a = random_lab<double>(whole, 1000, 41);
  const auto b = random_lab<double>(whole, 1000, 42);
  const auto de = de00_of(a, b);
  const auto squared = de00_of(a, b, {.squared = true});
  for (std::size_t i = 0; i < de.size(); ++i) {
    EXPECT_NEAR(squared[i], de[i] * de[i], 1e-14 * squared[i]);
  }
}

TEST(DifferenceBatch, PlainCielabDifference) {
  on_every_target([](const std::string& target) {
    const auto a = random_lab<double>(whole, 1001, 51);
    const auto b = random_lab<double>(whole, 1001, 52);
    std::vector<double> de(1001);
    de76_rows<double>(rows(a), rows(b), de);
    for (std::size_t i = 0; i < de.size(); ++i) {
      ASSERT_NEAR(de[i], de76(at(a, i), at(b, i)), 1e-13) << target;
    }
  });
}

TEST(DifferenceBatch, WrongSizesAndWeightsAreErrors) {
  const std::vector<double> four{1, 2, 3, 4};
  EXPECT_THROW((void)LabRows<double>::interleaved(four), ArgumentError);
  const std::vector<double> two{60, 3, 20, 61, 3, 20};
  std::vector<double> de(1);
  EXPECT_THROW(de00_rows<double>(rows(two), rows(two), de), ArgumentError);
  de.resize(2);
  EXPECT_THROW(de00_rows<double>(rows(two), rows(two), de, {.weights = {0, 1, 1}}), ArgumentError);
  std::vector<std::uint32_t> index(2);
  EXPECT_THROW(nearest_rows<double>(rows(two), LabRows<double>::interleaved({}), index, de),
               ArgumentError);
  EXPECT_THROW(de00_table<double>(rows(two), rows(two), de), ArgumentError);
}

}  // namespace
}  // namespace mamelon
