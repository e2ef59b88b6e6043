#pragma once
// A case solved and shown: as text or as one document, and as a sheet.

#include <cstddef>
#include <string>

#include <CLI/CLI.hpp>

#include "mamelon/case.h"

namespace mamelon::cli {

struct ShowOptions {
  std::string top = "5";
  std::string sheet;
  std::string save;
  bool json = false;
};
// `saves`: the case can be written to a file.
void add_show_options(CLI::App& verb, ShowOptions& options, bool saves);

// Throws where what is to be written at the end cannot be: said before the work.
void check_show_options(const ShowOptions& options);

// Solves the case, writes what is asked for, and returns the exit code.
int solve_and_show(const Case& given, const ShowOptions& options);

}  // namespace mamelon::cli
