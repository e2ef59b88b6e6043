#pragma once
// Mean squares between few levels that hold others, such as two operators with days of their own.

#include "shade/variance_analysis.h"

namespace mamelon::detail {

// The mean square of an outer factor drawn, the more the fewer its levels, towards the shape of
// that of the factor nested in it: with two levels each coordinate would stand on one degree of
// freedom, and its 95 % interval reach over 12.7 estimated standard deviations. What the levels
// differ by is taken to be spread over L*, a* and b* as what the nested levels differ by is: then
// the three tell of one size. That shape is itself drawn towards the repeats', with the weight of
// 3 degrees of freedom. The degrees of freedom returned are those of one coordinate, after
// Satterthwaite 1946.
MeanSquare pooled_over_coordinates(const MeanSquare& outer, const MeanSquare& nested,
                                   const Mat3& repeat);

}  // namespace mamelon::detail
