#include "cli/measure.h"

#include <algorithm>
#include <array>
#include <filesystem>
#include <map>
#include <memory>
#include <string_view>
#include <utility>

#include "cli/arguments.h"

namespace mamelon::cli {
namespace {

std::vector<Reading> combined(const std::vector<Reading>& readings) {
  std::map<std::pair<std::string_view, std::string_view>, std::size_t> places;
  std::vector<std::vector<Reading>> repeats;
  for (const Reading& reading : readings) {
    const auto [place, fresh] = places.try_emplace({reading.label, reading.zone}, repeats.size());
    if (fresh) repeats.emplace_back();
    repeats[place->second].push_back(reading);
  }
  std::vector<Reading> out;
  out.reserve(repeats.size());
  for (const std::vector<Reading>& of_one : repeats) out.push_back(combine(of_one));
  return out;
}

// One hint a tooth; an empty one where nothing is pointed at.
std::vector<ToothHint> hints_of(const MeasureOptions& options, const Photo& photo) {
  const int given =
      int{!options.teeth.empty()} + int{!options.box.empty()} + int{!options.mask.empty()};
  if (given > 1) {
    throw ArgumentError("--tooth, --box and --mask say the same thing; give one of them");
  }
  std::vector<ToothHint> hints;
  for (const std::string& tooth : options.teeth) {
    const auto at = list_argument("--tooth", tooth, 2);
    hints.push_back({.point = PointPx{at[0], at[1]}, .box = {}, .mask = {}});
  }
  if (hints.empty()) hints.emplace_back();
  if (!options.box.empty()) {
    const auto box = list_argument("--box", options.box, 4);
    hints.front().box = BoxPx{box[0], box[1], box[2], box[3]};
  }
  if (!options.mask.empty()) hints.front().mask = mask_argument(options.mask, photo);
  return hints;
}

// name=x,y,w,h of a tab whose colour is in the set.
std::vector<KnownSurface> surfaces_of(const MeasureOptions& options, const TabSet& tabs,
                                      const Viewing& viewing) {
  check_same_viewing(tabs.viewing, viewing, "the tabs of --tab-box");
  std::vector<KnownSurface> surfaces;
  for (const std::string& text : options.tab_boxes) {
    const std::size_t sign = text.rfind('=');
    if (sign == std::string::npos) {
      throw ArgumentError("--tab-box: expected NAME=X,Y,W,H, got \"" + text + "\"");
    }
    const std::string name = text.substr(0, sign);
    const auto tab = std::find_if(tabs.tabs.begin(), tabs.tabs.end(),
                                  [&](const Tab& t) { return t.name == name; });
    if (tab == tabs.tabs.end()) {
      throw ArgumentError("--tab-box: the tab set has no tab named \"" + name + "\"");
    }
    const auto box = list_argument("--tab-box", text.substr(sign + 1), 4);
    surfaces.push_back({.name = name,
                        .box = {box[0], box[1], box[2], box[3]},
                        .lab = tab->lab.value,
                        .reflectance = tab->curve});
  }
  return surfaces;
}

struct GridSize {
  std::size_t rows;
  std::size_t columns;
};

std::optional<GridSize> grid_argument(const std::string& text) {
  if (text.empty()) return std::nullopt;
  const std::size_t sign = text.find('x');
  if (sign == std::string::npos) {
    throw ArgumentError("--grid: expected rows and columns such as 5x3, got \"" + text + "\"");
  }
  const auto count = [](const std::string& part) {
    return static_cast<std::size_t>(number_argument("--grid", part, 1, 50));
  };
  return GridSize{count(text.substr(0, sign)), count(text.substr(sign + 1))};
}

CardFit fit_of(const MeasureOptions& options, const Photo& photo, const Viewing& viewing,
               const TabSet& tabs) {
  if (options.tab_boxes.empty() || !options.card.empty()) {
    CardFitOptions fit = fit_options(options);
    if (!options.tab_boxes.empty()) fit.surfaces = surfaces_of(options, tabs, viewing);
    return fit_card(photo, card_argument(options), viewing, fit);
  }
  SurfaceFitOptions surface_options;
  if (!options.px_per_mm.empty()) {
    surface_options.px_per_mm = number_argument("--px-per-mm", options.px_per_mm, 0.5, 2000);
  }
  return fit_surfaces(photo, surfaces_of(options, tabs, viewing), viewing, surface_options);
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

bool is_photo(const std::string& file) {
  std::string extension = std::filesystem::path(file).extension().string();
  std::transform(extension.begin(), extension.end(), extension.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  static constexpr std::array<std::string_view, 8> tables = {".csv", ".txt",   ".tsv", ".ti3",
                                                             ".sp",  ".cgats", ".cxf", ".xml"};
  return std::find(tables.begin(), tables.end(), extension) == tables.end();
}

void add_card_options(CLI::App& verb, MeasureOptions& options) {
  verb.add_option("--card", options.card, "Reference card in the photo (JSON document)")
      ->type_name("FILE");
  add_viewing_options(verb, options.viewing);
  verb.add_option("--corners", options.corners,
                  "Corners of the card in pixels (upper left, upper right, lower right, lower "
                  "left) when its fiducials cannot be seen")
      ->type_name("X,Y×4");
  verb.add_option("--exclude", options.exclude, "A patch of the card to leave out; repeatable")
      ->type_name("NAME");
  verb.add_option("--blank-white", options.blank_white,
                  "A photo of a blank white field by the same camera, lens and light: tells how "
                  "uneven the light is")
      ->type_name("FILE");
  verb.add_option("--method", options.method,
                  "Colour correction; the best that card and photo allow when not given")
      ->type_name("NAME");
  verb.add_flag("--camera-rendering", options.camera_rendering,
                "The photo has a camera's own tone curve: learn it from the card's greys");
}

void add_measure_options(CLI::App& verb, MeasureOptions& options) {
  add_card_options(verb, options);
  verb.add_option(
          "--tooth", options.teeth,
          "A point on the tooth, in pixels from the upper left; repeatable for several teeth")
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
  verb.add_option("--grid", options.grid,
                  "Read a grid of rows and columns over the tooth in place of its thirds")
      ->type_name("ROWSxCOLUMNS");
  verb.add_option("--tab-box", options.tab_boxes,
                  "A box within a tab of the set that stands in the photo, in pixels; repeatable. "
                  "With --card the tabs correct what the card leaves near their colours, without "
                  "they stand in for it")
      ->type_name("NAME=X,Y,W,H");
  verb.add_option("--px-per-mm", options.px_per_mm,
                  "With --tab-box: pixels for one millimetre at the tooth; told from the boxes "
                  "when not given")
      ->type_name("N");
  verb.add_option("--kind", options.kind,
                  "What the surface in the photo is: tooth, prepared_floor, restoration, tab, "
                  "gingiva or unknown; what is expected of its spectrum sets colour and interval")
      ->type_name("KIND")
      ->capture_default_str();
  verb.add_flag("--posterior", options.posterior, "The tooth is a premolar or molar");
  add_label_option(verb, options.label, "Your own name for this case, printed on the sheet");
}

Card card_argument(const MeasureOptions& options) {
  if (options.card.empty()) {
    throw ArgumentError(
        "a photo needs --card FILE, the reference card that stands in it, or a --tab-box for each "
        "tab beside the tooth");
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
  if (!options.blank_white.empty()) {
    fit.blank_white = std::make_shared<const Photo>(
        read_photo(options.blank_white, {.camera_rendering = options.camera_rendering}));
  }
  return fit;
}

Measurement measure(const MeasureOptions& options, const TabSet& tabs, Progress& progress) {
  Measurement result{.viewing = viewing_of(options.viewing),
                     .readings = {},
                     .photo = {},
                     .fit = {},
                     .zones = {},
                     .warnings = {}};
  if (auto colour = colour_argument("INPUT", options.input, result.viewing)) {
    if (!options.label.empty()) colour->label = options.label;
    result.readings = {*std::move(colour)};
    return result;
  }
  if (!is_photo(options.input)) {
    result.readings = combined(read_measurements(options.input, given_viewing(options.viewing),
                                                 table_options(options.viewing)));
    result.viewing = result.readings.front().viewing;
    return result;
  }
  const auto grid = grid_argument(options.grid);
  const SurfaceKind kind = surface_kind_from_string(options.kind);
  ZoneOptions zone_options;
  zone_options.kind = options.posterior ? ToothKind::posterior : ToothKind::anterior;
  zone_options.margin_mm = number_argument("--margin", options.margin_mm, 0, 5);
  if (!options.cervical_deg.empty()) {
    zone_options.cervical_direction_deg =
        number_argument("--cervical", options.cervical_deg, -360, 360);
  }
  progress.at(0, "reading the photo");
  result.photo = read_photo(options.input, {.camera_rendering = options.camera_rendering});
  const std::vector<ToothHint> hints = hints_of(options, *result.photo);
  progress.at(0.2, "finding the card");
  result.fit = fit_of(options, *result.photo, result.viewing, tabs);
  progress.at(0.5, "finding and reading the tooth");
  append(result.warnings, result.photo->warnings);
  append(result.warnings, result.fit->warnings);
  const std::string label = options.label.empty() ? "tooth" : options.label;
  for (std::size_t i = 0; i < hints.size(); ++i) {
    const Zones zones = find_zones(*result.photo, *result.fit, hints[i], zone_options);
    const std::string name = hints.size() > 1 ? label + " " + std::to_string(i + 1) : label;
    const auto readings =
        grid ? read_grid(*result.photo, *result.fit, zones, grid->rows, grid->columns, name, kind)
             : read_zones(*result.photo, *result.fit, zones, name, kind);
    result.readings.insert(result.readings.end(), readings.begin(), readings.end());
    append(result.warnings, zones.warnings);
    if (i == 0) result.zones = zones;
  }
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
