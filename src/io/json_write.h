#pragma once
// JSON out: keys in the order written, numbers in the shortest text that reads back the same.

#include <string>

#include <nlohmann/json.hpp>

#include "mamelon/colour.h"
#include "mamelon/measured.h"
#include "mamelon/spectrum.h"

namespace mamelon::detail {

using Json = nlohmann::ordered_json;

inline Json json_of(const Lab& lab) {
  return Json::array({lab.l, lab.a, lab.b});
}
inline Json json_of(const Xyz& xyz) {
  return Json::array({xyz.x, xyz.y, xyz.z});
}

template <class Unit>
Json json_of(const Spectrum<Unit>& spectrum) {
  return Json{{"first_nm", spectrum.grid().first_nm},
              {"step_nm", spectrum.grid().step_nm},
              {"values", spectrum.values()}};
}

inline bool is_zero(const Mat3& matrix) {
  return matrix == Mat3{};
}

// Indented, lists of numbers on one line, with a final newline. Text that is not UTF-8 gets
// replacement characters rather than an error after the work is done.
std::string dump(const Json& document);
// The same of results, which are computed: every number rounded to result_digits significant
// digits, so that the last bits of a computation are no part of what is said.
inline constexpr int result_digits = 12;
std::string dump_results(Json document);
// A document on one line.
std::string dump_line(const Json& document);
// One item of such results, to be written piece by piece; its inner lines stand `indent` deep.
std::string dump_item(Json item, std::size_t indent);

}  // namespace mamelon::detail
