// The nearest of several candidates beside a search through the whole table of differences, on
// every instruction set of this processor: leaving out what is too far must not show.

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mamelon/batch.h"

#include "every_target.h"

namespace mamelon {
namespace {

using testing_data::on_every_target;

struct Gamut {
  std::array<double, 3> low;
  std::array<double, 3> high;
};
constexpr Gamut tooth{{55, -3, 5}, {90, 10, 40}};
constexpr Gamut whole{{0, -128, -128}, {100, 128, 128}};
constexpr Gamut near_grey{{0, -4, -4}, {100, 4, 4}};
constexpr Gamut one_shade{{71, 1.5, 17}, {71.5, 1.7, 17.5}};
constexpr Gamut beyond{{-300, -9000, -9000}, {400, 9000, 9000}};

template <class T>
std::vector<T> random_lab(const Gamut& gamut, std::size_t count, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::vector<T> lab(3 * count);
  for (std::size_t i = 0; i < lab.size(); ++i) {
    std::uniform_real_distribution<double> range(gamut.low.at(i % 3), gamut.high.at(i % 3));
    lab[i] = static_cast<T>(range(random));
  }
  return lab;
}

// How many colours differ in a bit from the search through the table.
template <class T>
std::size_t count_wrong(const std::vector<T>& colours, const std::vector<T>& candidates,
                        const DifferenceWeights& weights = {}) {
  const auto rows = LabRows<T>::interleaved(colours);
  const auto columns = LabRows<T>::interleaved(candidates);
  const BatchOptions squares{.weights = weights, .squared = true};
  std::vector<T> table(rows.size() * columns.size());
  de00_table<T>(rows, columns, table, squares);
  std::vector<std::uint32_t> index(rows.size());
  std::vector<T> square(rows.size());
  nearest_rows<T>(rows, columns, index, square, squares);
  std::vector<std::uint32_t> index_of_root(rows.size());
  std::vector<T> root(rows.size());
  nearest_rows<T>(rows, columns, index_of_root, root, {.weights = weights});
  std::size_t wrong = 0;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    T best = std::numeric_limits<T>::infinity();
    std::uint32_t nearest = no_nearest;
    for (std::size_t j = 0; j < columns.size(); ++j) {
      if (table[i * columns.size() + j] >= best) continue;
      if (std::isnan(table[i * columns.size() + j])) continue;
      best = table[i * columns.size() + j];
      nearest = static_cast<std::uint32_t>(j);
    }
    const bool same_value = nearest == no_nearest ? std::isnan(square[i]) && std::isnan(root[i])
                                                  : square[i] == best && root[i] == std::sqrt(best);
    if (!same_value || index[i] != nearest || index_of_root[i] != nearest) ++wrong;
  }
  return wrong;
}

template <class T>
void check_gamuts(const std::string& target) {
  std::uint64_t seed = 1;
  for (const Gamut& of_colours : {tooth, whole, near_grey, one_shade, beyond}) {
    for (const Gamut& of_candidates : {tooth, whole, near_grey, one_shade, beyond}) {
      for (const std::size_t m : {1U, 2U, 16U, 33U, 100U}) {
        const auto colours = random_lab<T>(of_colours, 1003, ++seed);
        EXPECT_EQ(count_wrong(colours, random_lab<T>(of_candidates, m, ++seed)), 0U)
            << target << ' ' << m << " candidates, seed " << seed;
      }
    }
  }
}

TEST(Nearest, IsTheLeastOfTheTableToTheBit) {
  on_every_target([](const std::string& target) {
    check_gamuts<float>(target);
    check_gamuts<double>(target);
  });
}

TEST(Nearest, IsTheLeastOfTheTableForAMillionTeeth) {
  const auto candidates = random_lab<float>(tooth, 16, 1);
  EXPECT_EQ(count_wrong(random_lab<float>(tooth, 1'000'000, 2), candidates), 0U);
  EXPECT_EQ(count_wrong(random_lab<float>(whole, 1'000'000, 3), candidates), 0U);
}

TEST(Nearest, HoldsForAnyWeights) {
  const auto colours = random_lab<float>(tooth, 5000, 4);
  const auto candidates = random_lab<float>(tooth, 40, 5);
  for (const DifferenceWeights& weights :
       {DifferenceWeights{2, 1, 1}, DifferenceWeights{1, 2, 1}, DifferenceWeights{1, 1, 2},
        DifferenceWeights{0.1, 1, 3}, DifferenceWeights{1, 0.2, 5}, DifferenceWeights{1, 5, 0.2}}) {
    EXPECT_EQ(count_wrong(colours, candidates, weights), 0U)
        << weights.kl << ' ' << weights.kc << ' ' << weights.kh;
  }
}

// Candidates that differ by rounding alone, and equal ones: the first of the nearest counts.
TEST(Nearest, TellsTwinsApart) {
  auto candidates = random_lab<float>(tooth, 8, 6);
  for (std::size_t i = 0; i < 24; ++i) {
    const float next = std::nextafter(candidates[i], i % 2 == 0 ? 0.0F : 1000.0F);
    candidates.push_back(next);
  }
  const auto again = candidates;
  candidates.insert(candidates.end(), again.begin(), again.end());
  EXPECT_EQ(count_wrong(random_lab<float>(tooth, 20'000, 7), candidates), 0U);
  EXPECT_EQ(count_wrong(candidates, candidates), 0U);
}

TEST(Nearest, PassesOverWhatIsNoColour) {
  const float nan = std::numeric_limits<float>::quiet_NaN();
  const float inf = std::numeric_limits<float>::infinity();
  auto colours = random_lab<float>(whole, 3000, 8);
  auto candidates = random_lab<float>(tooth, 40, 9);
  for (std::size_t i = 0; i < colours.size(); i += 31) colours[i] = i % 2 == 0 ? nan : inf;
  for (const float odd : {nan, inf, -inf}) {
    candidates[0] = candidates[16] = candidates[101] = odd;
    EXPECT_EQ(count_wrong(colours, candidates), 0U) << odd;
  }
  EXPECT_EQ(count_wrong(colours, {nan, nan, nan}), 0U);
}

}  // namespace
}  // namespace mamelon
