#pragma once
// `mamelon paste fit` and `mamelon paste template`.

#include "cli/verbs.h"

namespace mamelon::cli {

void add_paste_fit(CLI::App& paste, Action& chosen);
void add_paste_template(CLI::App& paste, Action& chosen);

}  // namespace mamelon::cli
