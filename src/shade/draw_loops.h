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

std::pair<double, double> least_and_most(std::span<const double> values);

}  // namespace mamelon::detail
