#pragma once
// What callers say of the columns of tables.

#include <string>
#include <utility>
#include <vector>

#include <pybind11/pybind11.h>

#include "mamelon/files.h"

namespace mamelon::python {

// A dict of strings or None; `name` stands in the TypeError for anything else.
std::vector<std::pair<std::string, std::string>> string_pairs(const pybind11::object& given,
                                                              const char* name);

TableOptions table_options(const pybind11::object& resample_nm,
                           const pybind11::object& columns = pybind11::none());

}  // namespace mamelon::python
