#pragma once
// The command line as a case: what `shade`, `plan` and `tabs crosswalk` are given.

#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "mamelon/case.h"

#include "cli/photo_options.h"

namespace mamelon::cli {

// Teeth and tabs.
struct CaseOptions {
  const CLI::App* verb = nullptr;  // that they belong to
  std::string input, tabs;
  PhotoOptionsText photo;
  std::vector<std::string> teeth;  // points
  std::string box, mask, rim;
  std::vector<std::string> inside, outside;  // points that mend the outline
  std::string grid;                          // rows and columns in place of thirds
  std::vector<std::string> tab_boxes;        // tabs in the photo that stand in for a card
  std::string kept_fit, light_drift;         // of an earlier photo, in the place of a card
  std::string px_per_mm, cervical_deg, margin_mm = "0.4";
  std::string label, headline, aperture;
  std::string kind = "tooth";
  std::string weights = "1:1:1";
  std::string prior = "generated";
  bool posterior = false;
  bool from_above = false;
  bool mirrored = false;
  bool polarised = false;
};
// The input and the tabs, which stand first in a verb's help.
void add_input_options(CLI::App& verb, CaseOptions& options);
// The rest of them.
void add_case_options(CLI::App& verb, CaseOptions& options);

// The prepared cavity and how it is filled.
struct RestorationOptions {
  FloorOptions floor;
  std::string floor_box, floor_mask;
  std::string pastes, depth;
  std::string lamp;
  std::string layers = "2";
  std::string thickness_sd = "0.15";
  std::string placing = "flat";
  std::vector<std::string> lights;
  std::string zone, after;
  bool zones = false;
  bool contact_wall = false;
  bool any_order = false;
};
// `in_photo`: a floor may be seen in a photo, and a zone be chosen.
void add_restoration_options(CLI::App& verb, RestorationOptions& options, bool in_photo);

// Whether the floor is given as a photo, and neither as a colour nor as a curve.
bool is_floor_in_photo(const RestorationOptions& options, const PhotoOptionsText& photo);

// Read the files that the options name, and nothing of them. Throw ArgumentError for options of a
// photo where there is none; `floor_in_photo`: the card may be the floor's.
Case case_of(const CaseOptions& options, bool floor_in_photo = false);
Restoration restoration_of(const RestorationOptions& options, const PhotoOptionsText& photo);

}  // namespace mamelon::cli
