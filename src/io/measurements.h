#pragma once
// Measurements of any format: what the file says of how they were made, and the readings.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mamelon/files.h"

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

// Whether the content is ISO 28178 (CGATS.17) text.
bool is_cgats(std::string_view bytes);

// A light's power at rising wavelengths, on an even grid. Throws DataError naming `source`.
Power power_of(const std::vector<double>& wavelengths_nm, std::vector<double> values,
               const TableOptions& options, const std::string& source);
// The one spectrum of a table of a light's relative power.
Power parse_cgats_power(std::string_view bytes, const std::string& source,
                        const TableOptions& options);

std::vector<Reading> parse_cgats(std::string_view bytes, const std::string& source,
                                 const std::optional<Viewing>& given, const TableOptions& options);
std::vector<Reading> parse_cxf(std::string_view bytes, const std::string& source,
                               const std::optional<Viewing>& given);

}  // namespace mamelon::detail
