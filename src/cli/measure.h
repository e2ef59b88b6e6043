#pragma once
// From what the user points at, a photo or a table, to readings; shared by `shade` and `plan`.

#include <optional>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "mamelon/mamelon.h"

#include "cli/progress.h"
#include "cli/shared_options.h"

namespace mamelon::cli {

struct MeasureOptions {
  std::string input;
  std::string card;
  ViewingOptions viewing;
  std::vector<std::string> teeth;  // points
  std::string box, mask, corners;
  std::string grid;                    // rows and columns in place of thirds
  std::vector<std::string> tab_boxes;  // tabs in the photo that stand in for a card
  std::string px_per_mm;
  std::string cervical_deg, margin_mm = "0.4";
  std::string label;
  std::string kind = "tooth";
  std::string blank_white;
  std::string method;
  std::vector<std::string> exclude;
  bool posterior = false;
  bool camera_rendering = false;
};

// Card, viewing and correction: what finding and fitting the card needs.
void add_card_options(CLI::App& verb, MeasureOptions& options);
// These, the tooth and its label.
void add_measure_options(CLI::App& verb, MeasureOptions& options);

struct Measurement {
  Viewing viewing;
  std::vector<Reading> readings;
  std::optional<Photo> photo;
  std::optional<CardFit> fit;
  std::optional<Zones> zones;  // of the first tooth
  std::vector<std::string> warnings;
};

// Whether a file is read as a photo: by its name's ending, all but those of tables.
bool is_photo(const std::string& file);

// A colour stated as L,a,b[,sdL,sda,sdb], a table or a photo. Repeat readings of a table (equal
// label and zone) are combined. Boxes of tabs are told their colours from `tabs`; `progress` is
// told of the steps.
Measurement measure(const MeasureOptions& options, const TabSet& tabs, Progress& progress);

Card card_argument(const MeasureOptions& options);
CardFitOptions fit_options(const MeasureOptions& options);

// A report that points into `measurement`.
Report report_of(const MeasureOptions& options, const Measurement& measurement);

}  // namespace mamelon::cli
