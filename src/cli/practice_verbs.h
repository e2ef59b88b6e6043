#pragma once

#include "cli/verbs.h"

namespace mamelon::cli {

// `mamelon tabs align`.
void add_align(CLI::App& tabs, Action& chosen);

}  // namespace mamelon::cli
