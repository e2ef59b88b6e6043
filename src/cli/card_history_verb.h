#pragma once

#include <string>
#include <vector>

#include "cli/photo_options.h"

namespace mamelon::cli {

// Prints which patches of a card have changed, of kept fits or photos (`[YYYY-MM-DD=]FILE`), and
// returns the exit code.
int show_card_history(const std::vector<std::string>& files, const PhotoOptionsText& photo,
                      bool json);

}  // namespace mamelon::cli
