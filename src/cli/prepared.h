#pragma once
// What `plan` and `tabs crosswalk` share: the prepared cavity and how it is filled.

#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "mamelon/mamelon.h"

#include "cli/measure.h"
#include "cli/shared_options.h"

namespace mamelon::cli {

struct PreparedOptions {
  FloorOptions floor;
  std::string floor_box, floor_mask;
  std::string pastes, depth;
  std::string lamp;
  std::string layers = "2";
  std::string thickness_sd = "0.15";
  std::string placing = "flat";
  std::vector<std::string> lights;
  bool contact_wall = false;
  bool any_order = false;
};
void add_prepared_options(CLI::App& verb, PreparedOptions& options);

// Everything of a request but the target. A floor in a photo is read with the card, viewing and
// correction of `measure`.
PlanRequest prepared_request(const PreparedOptions& options, const MeasureOptions& measure,
                             std::vector<std::string>& warnings);

}  // namespace mamelon::cli
