#pragma once

#include <CLI/CLI.hpp>

#include "cli/verbs.h"

namespace mamelon::cli {

// `mamelon tabs transfer`.
void add_transfer(CLI::App& tabs, Action& chosen);

}  // namespace mamelon::cli
