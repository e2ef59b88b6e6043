#pragma once

#include "cli/verbs.h"

namespace mamelon::cli {

// `mamelon paste shift`.
void add_paste_shift(CLI::App& paste, Action& chosen);

}  // namespace mamelon::cli
