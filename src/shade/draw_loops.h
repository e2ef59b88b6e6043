#pragma once
// The loops over draws that matching spends its time in, for the instruction set that is there.
// All give the same bits on every one.

#include <cstddef>
#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "shade/pair_metric.h"
#include "shade/sample.h"

namespace mamelon::detail {

// The square of the linearised ΔE00 of every draw.
void linear_squares(const PairMetric& metric, const Draws& of_reading, const Draws& of_tab,
                    std::span<double> squared);

// How many draws each row has the least value in; empty where two rows share a least value.
// `values` holds the rows one after another, `draws` values each.
std::vector<std::uint64_t> wins_without_ties(std::span<const double> values, std::size_t draws);

std::uint64_t count_at_most(std::span<const double> values, double limit);

// Copies the values v with bin ≤ (v − from) · scale < bin + 1 to `to` in their order and says how
// many they are. `to` has room for `values_at_once` more.
std::size_t copy_bin(std::span<const double> values, double from, double scale, double bin,
                     double* to);
inline constexpr std::size_t values_at_once = 64;

std::pair<double, double> least_and_most(std::span<const double> values);

}  // namespace mamelon::detail
