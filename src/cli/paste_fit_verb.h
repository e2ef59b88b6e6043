#pragma once
// `mamelon paste fit`.

#include "cli/verbs.h"

namespace mamelon::cli {

void add_paste_fit(CLI::App& paste, Action& chosen);

}  // namespace mamelon::cli
