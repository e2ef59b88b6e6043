#pragma once
// What finding and fitting the card in a photo needs; shared by every verb that takes a photo.

#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "mamelon/case.h"

#include "cli/shared_options.h"

namespace mamelon::cli {

struct PhotoOptionsText {
  std::string card;
  ViewingOptions viewing;
  std::string corners;
  std::string method;
  std::vector<std::string> exclude;
  std::string blank_white;
  bool camera_rendering = false;
};

void add_photo_options(CLI::App& verb, PhotoOptionsText& options);

CardFitOptions fit_options(const PhotoOptionsText& options);

// The file as it is.
CasePhoto photo_argument(const std::string& file, bool camera_rendering);

}  // namespace mamelon::cli
