#include "demo.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <map>
#include <stdexcept>

#include <nlohmann/json.hpp>

namespace demo {
namespace {

using nlohmann::json;

json read_json(const std::string& path) {
  std::ifstream in(path);
  if (!in) throw std::runtime_error("cannot open " + path);
  return json::parse(in);
}

std::optional<mamelon::Reflectance> reflectance(const json& holder) {
  if (!holder.contains("reflectance")) return std::nullopt;
  const json& r = holder["reflectance"];
  const auto values = r["values"].get<std::vector<double>>();
  return mamelon::Reflectance({r["first_nm"], r["step_nm"], values.size()}, values);
}

std::optional<mamelon::Lab> lab(const json& holder) {
  if (!holder.contains("lab")) return std::nullopt;
  return mamelon::Lab{holder["lab"][0], holder["lab"][1], holder["lab"][2]};
}

mamelon::Mask whole(const mamelon::Photo& photo) {
  return {0, 0, photo.width, photo.height,
          std::vector<std::uint8_t>(photo.width * photo.height, 0)};
}

void add_runs(const json& runs, mamelon::Mask& mask) {
  for (std::size_t i = 0; i + 1 < runs.size(); i += 2) {
    std::fill_n(mask.inside.begin() + runs[i].get<std::ptrdiff_t>(), runs[i + 1].get<int>(),
                std::uint8_t{1});
  }
}

Scene load(const std::string& name) {
  const std::string folder = std::string(MAMELON_DATA_DIR) + "/photos/";
  const json truth = read_json(folder + name + ".truth.json");
  Scene scene{
      .photo = mamelon::expanded(mamelon::read_photo(folder + truth["photo"].get<std::string>())),
      .card = card(truth["card"]),
      .teeth = {},
      .glare = {}};
  for (std::size_t i = 0; i < 9; ++i) scene.mm_to_px[i] = truth["mm_to_px"][i / 3][i % 3];
  scene.glare = whole(scene.photo);
  add_runs(truth["glare_rle"], scene.glare);
  for (const json& t : truth["teeth"]) {
    Tooth tooth;
    tooth.name = t["name"];
    tooth.point = {t["point_px"][0], t["point_px"][1]};
    tooth.box = {t["box_px"][0], t["box_px"][1], t["box_px"][2], t["box_px"][3]};
    tooth.outline = whole(scene.photo);
    for (const json& zone : t["zones"]) {
      tooth.zones.push_back(*lab(zone));
      add_runs(zone["rle"], tooth.outline);
    }
    scene.teeth.push_back(std::move(tooth));
  }
  return scene;
}

}  // namespace

mamelon::Viewing d65() {
  return mamelon::viewing_from_string("D65/2");
}

mamelon::Card card(const std::string& name) {
  const json j = read_json(std::string(MAMELON_DATA_DIR) + "/cards/" + name + ".json");
  mamelon::Card card{.name = j["name"],
                     .width_mm = j["width_mm"],
                     .height_mm = j["height_mm"],
                     .fiducials = {},
                     .patches = {},
                     .white_areas = {},
                     .white_reflectance = reflectance(j["white"]),
                     .white_lab = lab(j["white"]),
                     .viewing = mamelon::viewing_from_string(j["viewing"].get<std::string>()),
                     .provenance = mamelon::make_provenance("card", name, {})};
  for (std::size_t i = 0; i < 4; ++i) {
    const json& f = j["fiducials"][i];
    card.fiducials[i] = {f["id"], f["x_mm"], f["y_mm"], f["size_mm"]};
  }
  for (const json& p : j["patches"]) {
    card.patches.push_back({p["name"], p["x_mm"], p["y_mm"], p["width_mm"], p["height_mm"],
                            p["neutral"], lab(p), reflectance(p)});
  }
  for (const json& a : j["white"]["areas"]) {
    card.white_areas.push_back({a["x_mm"], a["y_mm"], a["width_mm"], a["height_mm"]});
  }
  return card;
}

const Scene& scene(const std::string& name) {
  static std::map<std::string, Scene> scenes;
  const auto found = scenes.find(name);
  return found != scenes.end() ? found->second : scenes.emplace(name, load(name)).first->second;
}

mamelon::Photo turned(const mamelon::Photo& photo) {
  mamelon::Photo out = photo;
  const std::size_t count = photo.width * photo.height;
  for (std::size_t i = 0; i < count; ++i) {
    std::copy_n(photo.rgb.begin() + static_cast<std::ptrdiff_t>(3 * i), 3,
                out.rgb.begin() + static_cast<std::ptrdiff_t>(3 * (count - 1 - i)));
  }
  return out;
}

mamelon::Photo mirrored(const mamelon::Photo& photo) {
  mamelon::Photo out = photo;
  for (std::size_t y = 0; y < photo.height; ++y) {
    for (std::size_t x = 0; x < photo.width; ++x) {
      std::copy_n(photo.pixel(photo.width - 1 - x, y).begin(), 3,
                  out.rgb.begin() + static_cast<std::ptrdiff_t>(3 * (y * photo.width + x)));
    }
  }
  return out;
}

mamelon::Photo exposed(const mamelon::Photo& photo, double factor) {
  mamelon::Photo out = photo;
  for (std::uint16_t& v : out.rgb) {
    v = static_cast<std::uint16_t>(std::min(65535.0, std::round(v * factor)));
  }
  return out;
}

void paint(mamelon::Photo& photo, const std::array<double, 9>& h, double x_mm, double y_mm,
           double width_mm, double height_mm, const std::array<std::uint16_t, 3>& rgb) {
  // A grid finer than the pixels.
  for (double y = y_mm; y < y_mm + height_mm; y += 0.01) {
    for (double x = x_mm; x < x_mm + width_mm; x += 0.01) {
      const double w = h[6] * x + h[7] * y + h[8];
      const auto column = std::lround((h[0] * x + h[1] * y + h[2]) / w);
      const auto row = std::lround((h[3] * x + h[4] * y + h[5]) / w);
      if (column < 0 || row < 0 || column >= static_cast<long>(photo.width) ||
          row >= static_cast<long>(photo.height)) {
        continue;
      }
      std::copy(rgb.begin(), rgb.end(),
                photo.rgb.begin() + 3 * (row * static_cast<std::ptrdiff_t>(photo.width) + column));
    }
  }
}

double overlap(const mamelon::Mask& found, const mamelon::Mask& truth) {
  std::size_t both = 0;
  std::size_t here = 0;
  for (std::size_t row = 0; row < found.height; ++row) {
    for (std::size_t column = 0; column < found.width; ++column) {
      const bool inside = found.inside[row * found.width + column] != 0;
      here += inside ? 1U : 0U;
      both += inside && truth.inside[(row + found.y) * truth.width + column + found.x] != 0;
    }
  }
  const auto there =
      static_cast<std::size_t>(std::count(truth.inside.begin(), truth.inside.end(), 1));
  return static_cast<double>(both) / static_cast<double>(here + there - both);
}

}  // namespace demo
