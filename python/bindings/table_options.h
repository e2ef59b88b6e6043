#pragma once
// What callers say of the columns of tables.

#include <string>
#include <utility>
#include <vector>

#include "define.h"

namespace mamelon::python {

using TextPairs = std::vector<std::pair<std::string, std::string>>;
template <>
struct Convert<TextPairs> {
  static std::string in_type() { return "dict[str, str]"; }
  static TextPairs from_python(py::handle given, const std::string& where);
};

}  // namespace mamelon::python
