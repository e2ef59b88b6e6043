#include <cmath>
#include <string>

#include "mamelon/provenance.h"
#include "mamelon/viewing.h"

#include "base/numbers.h"
#include "tables/daylight_components.h"
#include "tables/illuminants_1nm.h"
#include "tables/observers_1nm.h"

namespace mamelon {
namespace {

template <std::size_t Rows, std::size_t Columns>
Grid grid_of(const double (&table)[Rows][Columns]) {
  return {table[0][0], table[1][0] - table[0][0], Rows};
}

// One object per table, so that copies of an illuminant share its power.
const std::vector<Illuminant>& standard_illuminants() {
  static const std::vector<Illuminant> all = [] {
    namespace table = tables::illuminants_1nm;
    std::vector<Illuminant> made;
    for (std::size_t column = 1; column < table::names.size(); ++column) {
      std::vector<double> values;
      for (const auto& row : table::rows) values.push_back(row[column]);
      made.emplace_back(std::string(table::names[column]),
                        Power(grid_of(table::rows), std::move(values)));
    }
    return made;
  }();
  return all;
}

}  // namespace

Illuminant::Illuminant(std::string name, Power power) : name_(std::move(name)) {
  if (name_.empty()) throw ArgumentError("an illuminant needs a name");
  check_grid(power.grid());
  double sum = 0;
  for (std::size_t i = 0; i < power.size(); ++i) {
    if (power[i] < 0)
      throw ArgumentError("the power of illuminant '" + name_ + "' at " +
                          detail::format_short(power.grid().wavelength_nm(i), 6) +
                          " nm is negative; spectral power must be 0 or more");
    sum += power[i];
  }
  if (!(sum > 0)) throw ArgumentError("illuminant '" + name_ + "' has no power at any wavelength");
  power_ = std::make_shared<const Power>(std::move(power));
}

Illuminant standard_illuminant(std::string_view name) {
  for (const Illuminant& illuminant : standard_illuminants())
    if (illuminant.name() == name) return illuminant;
  std::string known;
  for (const std::string& each : standard_illuminant_names())
    known += (known.empty() ? "" : ", ") + each;
  throw ArgumentError("unknown illuminant '" + std::string(name) + "'; known are " + known);
}

std::vector<std::string> standard_illuminant_names() {
  std::vector<std::string> names;
  for (const Illuminant& illuminant : standard_illuminants()) names.push_back(illuminant.name());
  return names;
}

Illuminant daylight(double cct_k) {
  if (!(cct_k >= 4000 && cct_k <= 25000))
    throw ArgumentError(
        "the correlated colour temperature of daylight must lie in 4000-25000 K, got " +
        detail::format_short(cct_k, 6));
  const double t = 1e3 / cct_k;
  const double x = cct_k <= 7000 ? ((-4.6070 * t + 2.9678) * t + 0.09911) * t + 0.244063
                                 : ((-2.0064 * t + 1.9018) * t + 0.24748) * t + 0.237040;
  const double y = (-3.000 * x + 2.870) * x - 0.275;
  const double m = 0.0241 + 0.2562 * x - 0.7341 * y;
  // CIE 015:2018 rounds the two factors to three decimals before they are used.
  const double m1 = std::round(1000 * (-1.3515 - 1.7703 * x + 5.9114 * y) / m) / 1000;
  const double m2 = std::round(1000 * (0.0300 - 31.4424 * x + 30.0717 * y) / m) / 1000;
  namespace table = tables::daylight_components;
  std::vector<double> values;
  for (const auto& row : table::rows)
    values.push_back(std::fmax(0.0, row[1] + m1 * row[2] + m2 * row[3]));
  std::string name = "D";
  name.append(detail::format_short(cct_k, 6)).append("K");
  return {std::move(name), Power(grid_of(table::rows), std::move(values))};
}

std::string cie_tables_digest() {
  std::string record;
  for (const std::string_view digest :
       {tables::daylight_components::sha256, tables::illuminants_1nm::sha256,
        tables::observers_1nm::sha256})
    record.append(digest).append("\n");
  return sha256_hex(std::string_view(record));
}

}  // namespace mamelon
