#include "io/columns.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <utility>

#include "mamelon/error.h"

#include "base/numbers.h"
#include "io/data_error.h"

namespace mamelon::detail {
namespace {

bool starts(std::string_view text, std::string_view prefix) {
  return text.substr(0, prefix.size()) == prefix;
}

std::size_t label_rank(const std::string& header) {
  return place_of(word_of(header), reading_columns().front().words);
}

// What every header means: what the user says, else its own word.
std::vector<std::string_view> meanings_of(const std::vector<std::string>& header,
                                          const ColumnNames& names, const std::string& where) {
  std::vector<std::string_view> out;
  for (const std::string& text : header) {
    out.push_back(canonical_of(word_of(text), reading_columns()));
  }
  take_names(out, header, names, reading_columns(),
             "tab, zone, L, a, b, X, Y, Z, operator, day, instrument, illuminant, observer, "
             "viewing, backing and thickness_mm",
             where);
  return out;
}

// Whether every wavelength is the grid's, rounded to a whole number.
bool agrees(const Grid& grid, const std::vector<double>& nm) {
  if (grid.count != nm.size()) return false;
  for (std::size_t i = 0; i < nm.size(); ++i) {
    if (std::abs(grid.wavelength_nm(i) - nm[i]) > 0.51) return false;
  }
  return true;
}

}  // namespace

std::optional<double> wavelength_of(std::string_view header) {
  constexpr std::size_t longest = 64;
  if (header.size() > longest) return {};
  std::string text = lowered(header);
  for (const std::string_view unit : {"%", "[]", "()"}) {
    for (auto at = text.find(unit); at != std::string::npos; at = text.find(unit)) {
      text.erase(at, unit.size());
    }
  }
  for (const std::string_view prefix :
       {"spectral", "spec", "wavelength", "pct", "dec", "nm", "r", "λ"}) {
    if (starts(text, prefix)) text.erase(0, prefix.size());
  }
  for (const std::string_view suffix : {"(nm)", "[nm]", "nm"}) {
    if (text.ends_with(suffix)) text.erase(text.size() - suffix.size());
  }
  if (text.empty() || text.find_first_not_of("0123456789.") != std::string::npos) return {};
  const auto value = parse_number(text);
  if (!value || *value < 200 || *value > 2500) return {};
  return value;
}

Grid grid_of(const std::vector<double>& rising_nm, const std::string& where) {
  if (rising_nm.size() < 3) {
    throw DataError(where + ": a spectrum needs at least 3 wavelengths, got " +
                    std::to_string(rising_nm.size()));
  }
  const double step =
      (rising_nm.back() - rising_nm.front()) / static_cast<double>(rising_nm.size() - 1);
  const Grid grid{rising_nm.front(), step, rising_nm.size()};
  for (std::size_t i = 0; i < rising_nm.size(); ++i) {
    if (std::abs(rising_nm[i] - grid.wavelength_nm(i)) > 1e-3) {
      throw DataError(where + ": the wavelengths are not evenly spaced (" +
                      format_short(rising_nm[i == 0 ? 0 : i - 1], 6) + ", " +
                      format_short(rising_nm[i], 6) +
                      " nm); give the spectrum at equal steps, or ask for it to be resampled");
    }
  }
  if (step > 20) {
    throw DataError(where + ": the wavelengths are " + format_short(step, 5) +
                    " nm apart; steps of at most 20 nm are needed");
  }
  return grid;
}

Grid grid_within(const std::vector<double>& rising_nm, double step_nm, const std::string& where) {
  constexpr double widest_nm = 20;
  if (!(step_nm > 0 && step_nm <= widest_nm)) {
    throw ArgumentError("spectra can be resampled to steps above 0 and of at most 20 nm, not " +
                        format_short(step_nm, 6));
  }
  for (std::size_t i = 1; i < rising_nm.size(); ++i) {
    if (rising_nm[i] - rising_nm[i - 1] > widest_nm) {
      throw DataError(where + ": nothing is known between " + format_short(rising_nm[i - 1], 6) +
                      " and " + format_short(rising_nm[i], 6) +
                      " nm; steps of at most 20 nm are needed");
    }
  }
  constexpr double slack = 1e-9;
  const double first = std::ceil(rising_nm.front() / step_nm - slack);
  const double last = std::floor(rising_nm.back() / step_nm + slack);
  if (rising_nm.size() < 3 || last - first < 2) {
    throw DataError(where +
                    ": a spectrum needs at least 3 wavelengths, before and after it is "
                    "resampled");
  }
  return {first * step_nm, step_nm, static_cast<std::size_t>(last - first) + 1};
}

Grid grid_of_bands(std::vector<double>& rising_nm, const Bands& bands, const std::string& where) {
  if (bands.stated && agrees(*bands.stated, rising_nm)) {
    for (std::size_t i = 0; i < rising_nm.size(); ++i)
      rising_nm[i] = bands.stated->wavelength_nm(i);
  }
  return bands.resample_nm ? grid_within(rising_nm, *bands.resample_nm, where)
                           : grid_of(rising_nm, where);
}

void check_visible(const Grid& grid, const std::string& where) {
  // A colour is what reaches the eye between 400 and 700 nm; what a curve leaves out is taken to go
  // on as it ends, which holds for a little.
  constexpr double from_nm = 430;
  constexpr double to_nm = 670;
  if (grid.first_nm <= from_nm && grid.last_nm() >= to_nm) return;
  throw DataError(where + ": the wavelengths do not cover what the eye sees (" +
                  format_short(grid.first_nm, 6) + " to " + format_short(grid.last_nm(), 6) +
                  " nm); give 400 to 700 nm, at the least 430 to 670 nm");
}

Columns columns_of(const std::vector<std::string>& header, const std::string& where,
                   const Bands& given, const ColumnNames& names) {
  Columns columns;
  columns.count = header.size();
  std::vector<std::pair<double, std::size_t>> bands;
  const auto take = [&](std::optional<std::size_t>& slot, std::size_t i, std::string_view meaning) {
    if (slot) {
      throw DataError(where + ": columns \"" + header[*slot] + "\" and \"" + header[i] +
                      "\" both mean " + std::string(meaning) + "; keep one");
    }
    slot = i;
    columns.meanings.push_back({header[i], std::string(meaning)});
  };
  const auto take_label = [&](std::size_t i) {
    constexpr std::string_view passed_over = "a second name, not used";
    if (!columns.label || label_rank(header[i]) == label_rank(header[*columns.label])) {
      take(columns.label, i, "the label");
    } else if (label_rank(header[i]) < label_rank(header[*columns.label])) {
      columns.meanings[*columns.label].meaning = passed_over;
      columns.label.reset();
      take(columns.label, i, "the label");
    } else {
      columns.meanings.push_back({header[i], std::string(passed_over)});
    }
  };
  struct Slot {
    std::string_view word;
    std::optional<std::size_t>& column;
    std::string_view meaning;
  };
  const std::array slots{
      Slot{"zone", columns.zone, "the zone"},
      Slot{"l", columns.l, "CIELAB L*"},
      Slot{"a", columns.a, "CIELAB a*"},
      Slot{"b", columns.b, "CIELAB b*"},
      Slot{"x", columns.x, "tristimulus X"},
      Slot{"y", columns.y, "tristimulus Y"},
      Slot{"z", columns.z, "tristimulus Z"},
      Slot{"operator", columns.operator_name, "who read it"},
      Slot{"day", columns.day, "the day"},
      Slot{"instrument", columns.instrument, "the instrument"},
      Slot{"illuminant", columns.illuminant, "the illuminant of the colour"},
      Slot{"observer", columns.observer, "the observer of the colour"},
      Slot{"viewing", columns.viewing, "illuminant and observer of the colour"},
      Slot{"backing", columns.backing, "what lay behind the specimen"},
      Slot{"thicknessmm", columns.thickness_mm, "the specimen's thickness in mm"},
  };
  const std::vector<std::string_view> words = meanings_of(header, names, where);
  for (std::size_t i = 0; i < header.size(); ++i) {
    const std::string_view word = words[i];
    const auto slot =
        std::find_if(slots.begin(), slots.end(), [&](const Slot& one) { return one.word == word; });
    if (slot != slots.end()) {
      take(slot->column, i, slot->meaning);
    } else if (word == "label") {
      take_label(i);
    } else if (const auto nm = wavelength_of(header[i])) {
      bands.emplace_back(*nm, i);
      if (header[i].find('%') != std::string::npos ||
          lowered(header[i]).find("pct") != std::string::npos) {
        columns.set_percent();
      }
      columns.meanings.push_back({header[i], "reflectance at " + format_short(*nm, 6) + " nm"});
    } else {
      columns.meanings.push_back({header[i], "not understood, not used"});
    }
  }
  if (!bands.empty()) {
    const bool falling = bands.size() > 1 && bands.front().first > bands.back().first;
    if (falling) std::reverse(bands.begin(), bands.end());
    std::vector<double>& nm = columns.wavelengths_nm;
    for (const auto& [wavelength, i] : bands) {
      if (!nm.empty() && wavelength <= nm.back()) {
        throw DataError(where + ": the wavelength columns do not rise steadily (" +
                        format_short(nm.back(), 6) + ", then " + format_short(wavelength, 6) +
                        " nm); give each wavelength once and in order");
      }
      nm.push_back(wavelength);
      columns.bands.push_back(i);
    }
    columns.resampled = given.resample_nm.has_value();
    columns.grid = grid_of_bands(nm, given, where);
    check_visible(columns.grid, where);
    as_data_error(where + ": ", [&] { check_grid(columns.grid); });
  }
  const bool part_lab = columns.l || columns.a || columns.b;
  if (part_lab && !columns.has_lab() && !columns.has_curve()) {
    throw DataError(where + ": the header has only some of the columns L, a, b; give all three");
  }
  if (!columns.has_curve() && !columns.has_lab() && !columns.has_xyz()) {
    throw DataError(where +
                    ": the header names no colour; give columns label, L, a, b or label, 380, "
                    "390, … in nm");
  }
  return columns;
}

}  // namespace mamelon::detail
