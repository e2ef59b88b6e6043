#pragma once
// What blood absorbs.

#include <array>

namespace mamelon::detail {

// Molar extinction in cm⁻¹/M, 400–700 nm at 10 nm: Gratzer and Kollias, compiled by S. Prahl,
// Oregon Medical Laser Center, 1998 (from memory).
inline constexpr std::array<double, 31> oxyhaemoglobin = {
    266232, 466840, 480360, 246072, 102580, 62816, 44480, 33209, 26629, 23684, 20932,
    20035,  24202,  39956,  53236,  43016,  32613, 44496, 50104, 14400, 3200,  1506,
    942,    610,    442,    368,    319.6,  294,   277.6, 276,   290};
inline constexpr std::array<double, 31> deoxyhaemoglobin = {
    223296, 303956, 407560, 528600, 413280, 103292, 23388, 16156, 14550, 16684, 20862,
    25774,  31590,  39036,  46592,  53412,  53788,  45072, 37020, 28324, 14677, 9444,
    6510,   5149,   4345,   3750,   3227,   2795,   2408,  2052,  1794};

}  // namespace mamelon::detail
