#include "cli/case_options.h"

#include <algorithm>
#include <utility>

#include "mamelon/exchange.h"
#include "mamelon/kept_fit.h"
#include "mamelon/population.h"
#include "mamelon/region.h"

#include "cli/arguments.h"

namespace mamelon::cli {
namespace {

BoxPx box_argument(const std::string& option, const std::string& text) {
  const auto box = list_argument(option, text, 4);
  return {box[0], box[1], box[2], box[3]};
}

PointPx point_argument(const std::string& option, const std::string& text) {
  const auto at = list_argument(option, text, 2);
  return {at[0], at[1]};
}

// X,Y,X,Y,…: three corners or more.
std::vector<PointPx> points_argument(const std::string& option, const std::string& text) {
  const auto commas = static_cast<std::size_t>(std::count(text.begin(), text.end(), ','));
  if (commas < 5 || commas % 2 == 0) {
    throw ArgumentError(option + ": expected three corners or more as X,Y,X,Y,X,Y, got \"" +
                        text.substr(0, 40) + "\"");
  }
  const auto at = list_argument(option, text, commas + 1);
  std::vector<PointPx> points;
  for (std::size_t i = 0; i < at.size(); i += 2) points.push_back({at[i], at[i + 1]});
  return points;
}

// X,Y or NAME=X,Y; a name that is a number is the tooth's in ISO 3950.
CaseTooth tooth_argument(const std::string& text) {
  CaseTooth tooth;
  auto [name, point] = parted(text, '=');
  tooth.at.point = point_argument("--tooth", point);
  if (name.find_first_not_of("0123456789") != std::string::npos) {
    tooth.name = std::move(name);
  } else if (!name.empty()) {
    tooth.number = whole_argument("--tooth", name, 11, 85);
  }
  return tooth;
}

// One tooth where nothing is pointed at: to be found.
std::vector<CaseTooth> teeth_in_photo(const CaseOptions& options) {
  if (int{!options.teeth.empty()} + int{!options.box.empty()} + int{!options.rim.empty()} +
          int{!options.mask.empty()} >
      1) {
    throw ArgumentError("--tooth, --box, --rim and --mask say the same thing; give one of them");
  }
  if (options.teeth.size() > 1 && !(options.inside.empty() && options.outside.empty())) {
    throw ArgumentError("--inside and --outside mend one tooth; give one --tooth with them");
  }
  std::vector<CaseTooth> teeth;
  for (const std::string& tooth : options.teeth) teeth.push_back(tooth_argument(tooth));
  if (teeth.empty()) teeth.emplace_back();
  ToothHint& at = teeth.front().at;
  if (!options.rim.empty()) at.rim = points_argument("--rim", options.rim);
  for (const std::string& p : options.inside) at.inside.push_back(point_argument("--inside", p));
  for (const std::string& p : options.outside) at.outside.push_back(point_argument("--outside", p));
  if (!options.box.empty()) teeth.front().at.box = box_argument("--box", options.box);
  if (!options.mask.empty()) {
    teeth.front().at.mask = parse_mask(read_file(options.mask), options.mask);
  }
  if (!options.cervical_deg.empty()) {
    for (CaseTooth& tooth : teeth) {
      tooth.cervical_direction_deg = number_argument("--cervical", options.cervical_deg, -360, 360);
    }
  }
  return teeth;
}

TabInPhoto tab_argument(const std::string& text) {
  auto [name, box] = parted(text, '=');
  if (name.empty()) {
    throw ArgumentError("--tab-box: expected NAME=X,Y,W,H, got \"" + text + "\"");
  }
  return {.tab = std::move(name), .box = box_argument("--tab-box", box)};
}

GridSize grid_argument(const std::string& text) {
  const auto [rows, columns] = parted(text, 'x');
  if (rows.empty()) {
    throw ArgumentError("--grid: expected rows and columns such as 5x3, got \"" + text + "\"");
  }
  return {static_cast<std::size_t>(whole_argument("--grid", rows, 1, 50)),
          static_cast<std::size_t>(whole_argument("--grid", columns, 1, 50))};
}

// An option beside readings that only a photo can use would be dropped in silence. A card is of use
// where the floor is a photo.
void check_no_photo_options(const CaseOptions& options, bool floor_in_photo) {
  const std::vector<const char*> of_the_tooth = {
      "--tooth",     "--box",      "--rim",       "--inside",     "--outside",     "--mask",
      "--cervical",  "--grid",     "--tab-box",   "--px-per-mm",  "--light-drift", "--from-above",
      "--posterior", "--mirrored", "--polarised", "--blank-white"};
  const std::vector<const char*> of_the_card = {"--card",    "--fit",    "--corners",
                                                "--exclude", "--method", "--camera-rendering"};
  const auto check = [&](const std::vector<const char*>& names) {
    for (const char* const name : names) {
      if (options.verb->count(name) == 0) continue;
      throw ArgumentError(std::string(name) +
                          ": goes with a photo of the tooth; leave it out beside readings");
    }
  };
  check(of_the_tooth);
  if (!floor_in_photo) check(of_the_card);
}

void read_photo_options(const CaseOptions& options, Case& given) {
  given.photo = photo_argument(options.input, options.photo.camera_rendering);
  given.photo->mirrored = options.mirrored;
  given.photo->polarised = options.polarised;
  given.teeth = teeth_in_photo(options);
  for (CaseTooth& tooth : given.teeth) tooth.kind = from_string<SurfaceKind>(options.kind);
  CardFitOptions fit = fit_options(options.photo);
  given.method = fit.method;
  given.corners_px = fit.corners_px;
  given.exclude = std::move(fit.exclude);
  if (!options.photo.blank_white.empty()) {
    given.blank_white = photo_argument(options.photo.blank_white, options.photo.camera_rendering);
  }
  given.posterior = options.posterior;
  given.from_above = options.from_above;
  given.margin_mm = number_argument("--margin", options.margin_mm, 0, 5);
  if (!options.grid.empty()) given.grid = grid_argument(options.grid);
  for (const std::string& tab : options.tab_boxes) {
    given.tabs_in_photo.push_back(tab_argument(tab));
  }
  if (!options.px_per_mm.empty()) {
    if (given.card || (given.tabs_in_photo.empty() && !given.kept_fit)) {
      throw ArgumentError(
          "--px-per-mm: goes with --tab-box and no card, or with --fit; a card tells the scale "
          "itself");
    }
    given.px_per_mm = number_argument("--px-per-mm", options.px_per_mm, 0.5, 2000);
  }
  if (!options.light_drift.empty()) {
    if (!given.kept_fit) throw ArgumentError("--light-drift: goes with --fit");
    constexpr double percent = 0.01;
    given.drift = LightDrift{
        .light = percent * number_argument("--light-drift", options.light_drift, 0, 100)};
  }
  if (given.card || given.kept_fit || !given.tabs_in_photo.empty()) return;
  throw ArgumentError(
      "a photo needs --card FILE, the reference card that stands in it, --fit FILE, kept of an "
      "earlier photo, or a --tab-box for each tab beside the tooth");
}

// NAME=WEIGHT
WeighedLight light_argument(const std::string& text) {
  const auto [name, weight] = parted(text, '=');
  if (name.empty()) {
    throw ArgumentError("--also-under: expected NAME=WEIGHT as A=0.5, got \"" + text.substr(0, 40) +
                        "\"");
  }
  return {standard_illuminant(name), number_argument("--also-under", weight, 0, 100)};
}

CaseFloor floor_of(const RestorationOptions& options, const PhotoOptionsText& photo) {
  CaseFloor floor{.refractive_index = floor_index_of(options.floor),
                  .specular_included = options.floor.specular_included};
  const std::string& text = options.floor.floor;
  floor.colour = colour_argument("--floor", text, viewing_of(photo.viewing));
  const bool is_seen = !floor.colour && is_photo_file(text);
  if (!is_seen && !(options.floor_box.empty() && options.floor_mask.empty())) {
    throw ArgumentError(
        "--floor-box and --floor-mask go with a --floor that is a photo; leave them out beside a "
        "curve or a colour");
  }
  if (floor.colour) return floor;
  if (!is_seen) {
    floor.reflectance = read_reflectance(text, table_options(photo.viewing));
    return floor;
  }
  floor.photo = photo_argument(text, photo.camera_rendering);
  if (options.floor_box.empty() == options.floor_mask.empty()) {
    throw ArgumentError(
        "--floor: say where the floor is in the photo with either --floor-box or --floor-mask");
  }
  if (!options.floor_box.empty()) floor.box = box_argument("--floor-box", options.floor_box);
  if (!options.floor_mask.empty()) {
    floor.mask = parse_mask(read_file(options.floor_mask), options.floor_mask);
  }
  return floor;
}

ToothPrior prior_argument(const CaseOptions& options, const Viewing& viewing) {
  if (options.prior == "none") return {};
  if (options.prior == "generated") return generated_prior();
  ColourTable teeth = read_colours(options.prior, viewing, table_options(options.photo.viewing));
  return prior_of(population_of("your teeth", std::move(teeth.lab), teeth.viewing));
}

}  // namespace

void add_input_options(CLI::App& verb, CaseOptions& options) {
  verb.add_option("INPUT", options.input,
                  "Photo (JPEG, PNG, TIFF, HEIC, WebP, camera raw), table of readings (CSV, ISO "
                  "28178 text, CxF3), or "
                  "a colour as L,a,b or with its standard deviations L,a,b,sdL,sda,sdb")
      ->required();
  add_needed(verb, "--tabs", "FILE", options.tabs, "Your measured tabs (JSON document)");
}

void add_case_options(CLI::App& verb, CaseOptions& options) {
  options.verb = &verb;
  add_photo_options(verb, options.photo);
  add_value(verb, "--tooth", "[TOOTH=]X,Y", options.teeth,
            "A point on the tooth, in pixels from the upper left, with its number (ISO 3950, "
            "such as 21) or your name for it if you like; repeatable for several teeth");
  add_value(verb, "--headline", "TOOTH", options.headline,
            "With several teeth: number, name or place of the one that stands first; the "
            "first when not given");
  add_value(verb, "--box", "X,Y,W,H", options.box, "A box around the tooth, in pixels");
  add_value(verb, "--rim", "X,Y,X,Y,...", options.rim,
            "The tooth's outline drawn roughly, within half a millimetre: three corners or "
            "more, in pixels");
  add_value(verb, "--inside", "X,Y", options.inside,
            "A point that belongs to the tooth, where its outline misses a part; repeatable");
  add_value(verb, "--outside", "X,Y", options.outside,
            "A point that does not, where its outline holds too much; repeatable");
  add_value(verb, "--mask", "FILE", options.mask,
            "PNG of the photo's size, white inside the tooth and black outside");
  add_value(verb, "--cervical", "DEG", options.cervical_deg,
            "Where the gum end of the tooth points, in degrees counter-clockwise from the "
            "photo's right (90: up); found from the gum when not given");
  add_value(verb, "--margin", "MM", options.margin_mm, "Rim of the tooth to leave out, in mm");
  add_value(verb, "--grid", "ROWSxCOLUMNS", options.grid,
            "Read a grid of rows and columns over the tooth in place of its thirds");
  add_value(verb, "--tab-box", "NAME=X,Y,W,H", options.tab_boxes,
            "A box within a tab of the set that stands in the photo, in pixels; repeatable. "
            "With --card the tabs correct what the card leaves near their colours, without "
            "they stand in for it");
  add_value(verb, "--fit", "FILE", options.kept_fit,
            "In the place of --card: the fit that 'card --keep-fit' kept of an earlier photo "
            "by the same camera and light. With --tab-box, tabs in the frame tell what has "
            "changed since");
  add_value(verb, "--light-drift", "PERCENT", options.light_drift,
            "With --fit: by how much light, exposure and distance may have changed since, "
            "as a standard deviation; 7 when not given, and more where the files do not say "
            "how they were taken");
  add_value(verb, "--px-per-mm", "N", options.px_per_mm,
            "With --tab-box or --fit: pixels for one millimetre at the tooth; taken from the "
            "boxes, or as in the card's photo, when not given");
  add_value(verb, "--kind", "KIND", options.kind,
            "What the surface in the photo is: tooth, prepared_floor, restoration, tab, "
            "gingiva or unknown; what is expected of its spectrum sets colour and interval");
  verb.add_flag("--posterior", options.posterior,
                "The tooth is a premolar or molar; a tooth's number says so too");
  verb.add_flag(
      "--from-above", options.from_above,
      "Premolars and molars seen from above: their cusps and fissures are read apart, and "
      "what is not sound tooth is left out");
  verb.add_flag("--mirrored", options.mirrored,
                "The photo was taken in a mirror that shows the card too: it is flipped. Places "
                "are told in the photo as it is");
  verb.add_flag("--polarised", options.polarised,
                "The photo was taken through crossed polarisers: nothing in it is glare. Tabs that "
                "were not read so are compared with a wider interval");
  add_value(verb, "--prior", "generated|none|FILE", options.prior,
            "What is known of teeth before this one is read, for the chances of readings as "
            "wide as a photo's: generated, none, or a table of your own teeth (CSV, ISO "
            "28178 text, CxF3)");
  add_value(verb, "--aperture", "LIT/SEEN", options.aperture,
            "What the instrument of the readings lights and sees, diameters in mm; endless: so "
            "wide that no light is lost at its edge");
  add_label_option(verb, options.label, "Your own name for this case, printed on the sheet");
  add_weights_option(verb, options.weights);
}

void add_restoration_options(CLI::App& verb, RestorationOptions& options, bool in_photo) {
  add_pastes_option(verb, "--pastes", options.pastes);
  add_floor_options(verb, options.floor, "Tooth and floor were read");
  add_needed(verb, "--depth", "MM", options.depth,
             in_photo ? "Depth to fill, in mm, up to 20; or one for each zone, as 2.5,3,1.5"
                      : "Depth to fill, in mm, up to 20");
  add_value(verb, "--after", "NAME", options.after,
            "Plan for the colour after a shift that the pastes state, such as week");
  add_value(verb, "--layers", "N", options.layers, "Most pastes in a plan, 1 to 3");
  add_value(verb, "--thickness-sd", "MM", options.thickness_sd,
            "How well you hold a layer's thickness, as a standard deviation in mm");
  add_value(verb, "--also-under", "NAME=WEIGHT", options.lights,
            "A further light that counts, with its weight beside the target's own light of "
            "weight 1, such as A=0.5; repeatable");
  add_value(verb, "--lamp", "MW/CM2", options.lamp,
            "Irradiance of your curing light at the paste, in mW/cm²; gives exposure times");
  add_value(verb, "--order", "ORDER", options.placing,
            "How increments go in: flat, oblique (two wedges each) or wall_first (along the "
            "walls, then the core)");
  verb.add_flag("--contact-wall", options.contact_wall,
                "A box with a neighbour: its contact wall is built first");
  verb.add_flag("--any-order", options.any_order,
                "Allow layers that do not run from opaque at the floor to translucent outside");
  if (!in_photo) return;
  add_value(verb, "--floor-box", "X,Y,W,H", options.floor_box,
            "Where the floor is, when --floor is a photo of the prepared cavity with the "
            "card: a box in pixels");
  add_value(verb, "--floor-mask", "FILE", options.floor_mask,
            "The same as a PNG of that photo's size, white on the floor");
  add_value(verb, "--zone", "NAME", options.zone,
            "Zone (or label) planned for; when the photo's zones are read the middle, of a "
            "premolar or molar the occlusal");
  verb.add_flag("--zones", options.zones,
                "Also the same pastes for every zone, each with its own thicknesses");
}

Case case_of(const CaseOptions& options, bool floor_in_photo) {
  Case given{.label = options.label, .viewing = viewing_of(options.photo.viewing)};
  given.match.weights = weights_argument(options.weights);
  given.tabs = read_tab_set(options.tabs);
  given.match.prior = prior_argument(options, given.tabs->viewing);
  if (!options.photo.card.empty()) given.card = read_card(options.photo.card);
  if (!options.kept_fit.empty()) given.kept_fit = read_kept_fit(options.kept_fit);
  given.headline = options.headline;
  if (auto colour = colour_argument("INPUT", options.input, given.viewing)) {
    check_no_photo_options(options, floor_in_photo);
    if (!options.label.empty()) colour->label = options.label;
    given.teeth = {{.readings = {*std::move(colour)}}};
  } else if (!is_photo_file(options.input)) {
    check_no_photo_options(options, floor_in_photo);
    const std::vector<Reading> readings = read_measurements(
        options.input, given_viewing(options.photo.viewing), table_options(options.photo.viewing));
    given.viewing = readings.front().viewing;
    given.teeth = teeth_of(readings);
  } else {
    if (!options.aperture.empty()) {
      throw ArgumentError("--aperture: goes with readings; leave it out beside a photo");
    }
    read_photo_options(options, given);
  }
  if (!options.aperture.empty()) given.aperture = aperture_argument(options.aperture);
  return given;
}

bool is_floor_in_photo(const RestorationOptions& options, const PhotoOptionsText& photo) {
  const std::string& floor = options.floor.floor;
  return !colour_argument("--floor", floor, viewing_of(photo.viewing)) && is_photo_file(floor);
}

Restoration restoration_of(const RestorationOptions& options, const PhotoOptionsText& photo) {
  Restoration asked;
  asked.placing.order = from_string<PlacingOrder>(options.placing);
  asked.placing.contact_wall = options.contact_wall;
  if (!options.lamp.empty()) {
    asked.placing.lamp_irradiance_mw_cm2 = number_argument("--lamp", options.lamp, 100, 5000);
  }
  asked.depths_mm = numbers_argument("--depth", options.depth, ',', 1e-6, 20);
  asked.thickness_sd_mm = number_argument("--thickness-sd", options.thickness_sd, 0, 2);
  asked.max_layers = whole_argument("--layers", options.layers, 1, 3);
  asked.role_order = !options.any_order;
  asked.zone = options.zone;
  asked.after = options.after;
  asked.every_zone = options.zones;
  for (const std::string& text : options.lights) asked.also_under.push_back(light_argument(text));
  asked.pastes = read_paste_set(options.pastes);
  asked.floor = floor_of(options, photo);
  return asked;
}

}  // namespace mamelon::cli
