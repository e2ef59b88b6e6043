#pragma once
// Measurements of any format: what the file says of how they were made, and the readings.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/reading.h"

namespace mamelon::detail {

// The viewing that a file states its colours under, as far as it says.
struct StatedViewing {
  std::optional<std::string> illuminant;
  std::optional<Observer> observer;
};

// The viewing of a file's colours: what the file states, else what the user gave. `needed` is true
// for colours without spectra, which cannot be turned to another viewing. Throws ArgumentError when
// both are given and differ, or, where needed, when neither is.
Viewing settle_viewing(const StatedViewing& stated, const std::optional<Viewing>& given,
                       bool needed, const std::string& source);

std::vector<Reading> parse_cgats(std::string_view bytes, const std::string& source,
                                 const std::optional<Viewing>& given);
std::vector<Reading> parse_cxf(std::string_view bytes, const std::string& source,
                               const std::optional<Viewing>& given);

}  // namespace mamelon::detail
