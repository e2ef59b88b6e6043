#pragma once
// From what the user points at, a photo or a table, to readings; shared by `shade` and `plan`.

#include <optional>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "mamelon/mamelon.h"

namespace mamelon::cli {

struct MeasureOptions {
  std::string input;
  std::string card;
  std::string viewing = "D65/2";
  std::string tooth, box, mask, corners;
  std::string cervical_deg, margin_mm = "0.4";
  std::string label;
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
  std::optional<Zones> zones;
  std::vector<std::string> warnings;
};

// Repeat readings of a table (equal label and zone) are combined.
Measurement measure(const MeasureOptions& options);

Card card_argument(const MeasureOptions& options);
CardFitOptions fit_options(const MeasureOptions& options);

// A report that points into `measurement`.
Report report_of(const MeasureOptions& options, const Measurement& measurement);

}  // namespace mamelon::cli
