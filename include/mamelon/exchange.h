#pragma once
/// @file
/// What comes from other programs in bulk and what goes out for them to open.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/files.h"

namespace mamelon {

/// The colours of a file's rows and nothing else of them: a million rows take some 100 MB.
struct ColourTable {
  std::vector<std::string> labels;      ///< one a row
  std::vector<std::string> zones;       ///< one a row, or none at all
  std::vector<Lab> lab;                 ///< one a label, under `viewing`
  Viewing viewing;                      ///< of all colours
  std::vector<std::string> warnings{};  ///< of all rows together
};
/// As `read_measurements`, in columns. ArgumentError also where the rows have several viewings.
[[nodiscard]] ColourTable read_colours(const std::filesystem::path& file,
                                       const std::optional<Viewing>& viewing,
                                       const TableOptions& options = {});

/// The crosswalk as `to_csv` writes it, for a spreadsheet: a name that it would run as a formula
/// (it starts with = + - @, a tab or a carriage return) has an apostrophe before it.
[[nodiscard]] std::string to_spreadsheet(const CrosswalkReport& report);

}  // namespace mamelon
