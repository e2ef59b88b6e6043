#include "cli/measure.h"

#include <algorithm>
#include <array>
#include <filesystem>
#include <string_view>
#include <utility>

#include "cli/arguments.h"

namespace mamelon::cli {
namespace {

bool is_photo(const std::filesystem::path& file) {
  std::string extension = file.extension().string();
  std::transform(extension.begin(), extension.end(), extension.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  static constexpr std::array<std::string_view, 8> tables = {".csv", ".txt",   ".tsv", ".ti3",
                                                             ".sp",  ".cgats", ".cxf", ".xml"};
  return std::find(tables.begin(), tables.end(), extension) == tables.end();
}

std::vector<Reading> combined(std::vector<Reading> readings) {
  std::vector<Reading> out;
  std::vector<bool> taken(readings.size());
  for (std::size_t i = 0; i < readings.size(); ++i) {
    if (taken[i]) continue;
    std::vector<Reading> repeats;
    for (std::size_t k = i; k < readings.size(); ++k) {
      if (readings[k].label != readings[i].label || readings[k].zone != readings[i].zone) continue;
      taken[k] = true;
      repeats.push_back(readings[k]);
    }
    out.push_back(combine(repeats));
  }
  return out;
}

ToothHint hint_of(const MeasureOptions& options, const Photo& photo) {
  const int given =
      int{!options.tooth.empty()} + int{!options.box.empty()} + int{!options.mask.empty()};
  if (given > 1) {
    throw ArgumentError("--tooth, --box and --mask say the same thing; give one of them");
  }
  ToothHint hint;
  if (!options.tooth.empty()) {
    const auto at = list_argument("--tooth", options.tooth, 2);
    hint.point = PointPx{at[0], at[1]};
  }
  if (!options.box.empty()) {
    const auto box = list_argument("--box", options.box, 4);
    hint.box = BoxPx{box[0], box[1], box[2], box[3]};
  }
  if (!options.mask.empty()) hint.mask = mask_argument(options.mask, photo);
  return hint;
}

void append(std::vector<std::string>& to, const std::vector<std::string>& from) {
  for (const std::string& text : from) {
    if (std::find(to.begin(), to.end(), text) == to.end()) to.push_back(text);
  }
}

CorrectionMethod method_argument(const std::string& text) {
  for (const auto method : {CorrectionMethod::response_estimate, CorrectionMethod::matrix,
                            CorrectionMethod::root_polynomial, CorrectionMethod::grey}) {
    if (to_string(method) == text) return method;
  }
  throw ArgumentError("--method: expected " +
                      std::string(to_string(CorrectionMethod::response_estimate)) + ", " +
                      std::string(to_string(CorrectionMethod::matrix)) + ", " +
                      std::string(to_string(CorrectionMethod::root_polynomial)) + " or " +
                      std::string(to_string(CorrectionMethod::grey)) + ", got \"" + text + "\"");
}

}  // namespace

void add_card_options(CLI::App& verb, MeasureOptions& options) {
  verb.add_option("--card", options.card, "Reference card in the photo (JSON document)")
      ->type_name("FILE");
  verb.add_option("--viewing", options.viewing,
                  "Illuminant and observer (2 or 10 degrees) of every colour")
      ->type_name("ILL/OBS")
      ->capture_default_str();
  verb.add_option("--corners", options.corners,
                  "Corners of the card in pixels (upper left, upper right, lower right, lower "
                  "left) when its fiducials cannot be seen")
      ->type_name("X,Y×4");
  verb.add_option("--exclude", options.exclude, "A patch of the card to leave out; repeatable")
      ->type_name("NAME");
  verb.add_option("--method", options.method,
                  "Colour correction; the best that card and photo allow when not given")
      ->type_name("NAME");
  verb.add_flag("--camera-rendering", options.camera_rendering,
                "The photo has a camera's own tone curve: learn it from the card's greys");
}

void add_measure_options(CLI::App& verb, MeasureOptions& options) {
  add_card_options(verb, options);
  verb.add_option("--tooth", options.tooth, "A point on the tooth, in pixels from the upper left")
      ->type_name("X,Y");
  verb.add_option("--box", options.box, "A box around the tooth, in pixels")->type_name("X,Y,W,H");
  verb.add_option("--mask", options.mask,
                  "PNG of the photo's size, white inside the tooth and black outside")
      ->type_name("FILE");
  verb.add_option("--cervical", options.cervical_deg,
                  "Where the gum end of the tooth points, in degrees counter-clockwise from the "
                  "photo's right (90: up); "
                  "told from the gum when not given")
      ->type_name("DEG");
  verb.add_option("--margin", options.margin_mm, "Rim of the tooth to leave out, in mm")
      ->type_name("MM")
      ->capture_default_str();
  verb.add_flag("--posterior", options.posterior, "The tooth is a premolar or molar");
  verb.add_option("--label", options.label, "Your own name for this case, printed on the sheet")
      ->type_name("TEXT");
}

Card card_argument(const MeasureOptions& options) {
  if (options.card.empty()) {
    throw ArgumentError("a photo needs --card FILE, the reference card that stands in it");
  }
  return read_card(options.card);
}

CardFitOptions fit_options(const MeasureOptions& options) {
  CardFitOptions fit;
  if (!options.method.empty()) fit.method = method_argument(options.method);
  if (!options.corners.empty()) {
    const auto at = list_argument("--corners", options.corners, 8);
    fit.corners_px = std::array<PointPx, 4>{PointPx{at[0], at[1]}, PointPx{at[2], at[3]},
                                            PointPx{at[4], at[5]}, PointPx{at[6], at[7]}};
  }
  fit.exclude = options.exclude;
  return fit;
}

Measurement measure(const MeasureOptions& options) {
  Measurement result{.viewing = viewing_argument(options.viewing),
                     .readings = {},
                     .photo = {},
                     .fit = {},
                     .zones = {},
                     .warnings = {}};
  if (!is_photo(options.input)) {
    result.readings = combined(read_measurements(options.input, result.viewing));
    return result;
  }
  const Card card = card_argument(options);
  ZoneOptions zone_options;
  zone_options.kind = options.posterior ? ToothKind::posterior : ToothKind::anterior;
  zone_options.margin_mm = number_argument("--margin", options.margin_mm, 0, 5);
  if (!options.cervical_deg.empty()) {
    zone_options.cervical_direction_deg =
        number_argument("--cervical", options.cervical_deg, -360, 360);
  }
  result.photo = read_photo(options.input, {.camera_rendering = options.camera_rendering});
  const ToothHint hint = hint_of(options, *result.photo);
  result.fit = fit_card(*result.photo, card, result.viewing, fit_options(options));
  result.zones = find_zones(*result.photo, *result.fit, hint, zone_options);
  result.readings = read_zones(*result.photo, *result.fit, *result.zones,
                               options.label.empty() ? "tooth" : options.label);
  append(result.warnings, result.photo->warnings);
  append(result.warnings, result.fit->warnings);
  append(result.warnings, result.zones->warnings);
  return result;
}

Report report_of(const MeasureOptions& options, const Measurement& measurement) {
  Report report{.label = options.label,
                .viewing = measurement.viewing,
                .readings = measurement.readings,
                .matches = {},
                .planned_zone = {},
                .warnings = measurement.warnings};
  if (measurement.fit) report.fit = &*measurement.fit;
  if (measurement.photo) report.photo = &*measurement.photo;
  if (measurement.zones) report.zones = &*measurement.zones;
  return report;
}

}  // namespace mamelon::cli
