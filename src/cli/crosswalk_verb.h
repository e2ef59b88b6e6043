#pragma once

#include <CLI/CLI.hpp>

#include "cli/verbs.h"

namespace mamelon::cli {

// `mamelon tabs crosswalk`.
void add_crosswalk(CLI::App& tabs, Action& chosen);

}  // namespace mamelon::cli
