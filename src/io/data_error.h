#pragma once
// Checks of whole values, on values that came from a file.

#include <string>
#include <utility>

#include "mamelon/error.h"

namespace mamelon::detail {

// Runs a check; what it calls a wrong argument is, in a file, wrong data. `where` begins the
// message.
template <class Check>
void as_data_error(const std::string& where, Check&& check) {
  try {
    std::forward<Check>(check)();
  } catch (const ArgumentError& error) {
    throw DataError(where + error.what());
  }
}

}  // namespace mamelon::detail
