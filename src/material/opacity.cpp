#include "mamelon/opacity.h"

#include <algorithm>
#include <cmath>

#include "mamelon/appearance.h"
#include "mamelon/difference.h"

#include "base/numbers.h"

namespace mamelon {
namespace {

constexpr double deepest_mm = 30;

struct Pair {
  Xyz black;
  Xyz white;
};

class Floors {
 public:
  Floors(const Paste& paste, Engine engine, const Viewing& viewing, double black, double white)
      : paste_(paste),
        engine_(engine),
        viewing_(viewing),
        light_(white_point(viewing)),
        black_(floor(black)),
        white_(floor(white)) {}

  [[nodiscard]] Pair under(double thickness_mm) const {
    const auto seen = [&](const Reflectance& floor) {
      return to_xyz(predict(Stack{floor, {{paste_, thickness_mm}}, false}, engine_), viewing_);
    };
    return {seen(black_), seen(white_)};
  }
  [[nodiscard]] Lab lab(const Xyz& xyz) const { return to_lab(xyz, light_); }
  [[nodiscard]] double tp00(double thickness_mm) const {
    const Pair pair = under(thickness_mm);
    return translucency_00(lab(pair.white), lab(pair.black));
  }

 private:
  [[nodiscard]] Reflectance floor(double r) const {
    return {paste_.absorption.grid(), std::vector<double>(paste_.absorption.size(), r)};
  }

  const Paste& paste_;
  Engine engine_;
  const Viewing& viewing_;
  Xyz light_;
  Reflectance black_;
  Reflectance white_;
};

// The least thickness from which `shows` (a difference that falls with depth) is at most `most`.
template <class Shows>
std::optional<double> depth_that_hides(const Shows& shows, double most) {
  if (shows(deepest_mm) > most) return {};
  constexpr double fine_enough_mm = 1e-4;
  double thin = 0;
  double thick = deepest_mm;
  while (thick - thin > fine_enough_mm) {
    const double middle = (thin + thick) / 2;
    (shows(middle) > most ? thin : thick) = middle;
  }
  return thick;
}

// Of a depth that `depth_of` finds for a paste, by the modes of error of its constants: their ln
// spreads evenly to both sides. Nothing where there are none, or where one leads beyond what is
// looked at.
template <class DepthOf>
std::optional<std::array<double, 2>> interval_95(const Paste& paste, Engine engine, double depth_mm,
                                                 const DepthOf& depth_of) {
  if (engine != Engine::transport || paste.transport->modes.empty()) return {};
  double variance = 0;
  for (const ConstantsMode& mode : paste.transport->modes) {
    const std::optional<double> up = depth_of(moved(paste, mode, 1));
    const std::optional<double> down = depth_of(moved(paste, mode, -1));
    if (!up || !down) return {};
    const double half = std::log(*up / *down) / 2;
    variance += half * half;
  }
  const double factor = std::exp(1.96 * std::sqrt(variance));
  return std::array{depth_mm / factor, depth_mm * factor};
}

}  // namespace

Opacity opacity(const Paste& paste, Engine engine, const Viewing& viewing, double thickness_mm,
                double black, double white) {
  check_paste(paste, "paste '" + paste.name + "'");
  if (!(black >= 0 && black < white && white <= 1)) {
    throw ArgumentError("opacity needs internal reflectances 0 ≤ black < white ≤ 1");
  }
  const Floors floors(paste, engine, viewing, black, white);
  const Pair pair = floors.under(thickness_mm);
  Opacity result;
  result.thickness_mm = thickness_mm;
  result.tp00 = translucency_00(floors.lab(pair.white), floors.lab(pair.black));
  result.tp_ab = translucency_ab(floors.lab(pair.white), floors.lab(pair.black));
  result.contrast_ratio = contrast_ratio(pair.black.y, pair.white.y);
  const auto depth_of = [&](const Paste& one) {
    const Floors under(one, engine, viewing, black, white);
    return depth_that_hides([&](double mm) { return under.tp00(mm); }, threshold::perceptible_de00);
  };
  result.infinite_mm = depth_of(paste);
  if (result.infinite_mm) {
    result.infinite_95_mm = interval_95(paste, engine, *result.infinite_mm, depth_of);
  }
  return result;
}

std::optional<Masking> masking(const Paste& paste, Engine engine, const Reflectance& floor,
                               const Viewing& viewing, double coat_mm, double de00) {
  check_paste(paste, "paste '" + paste.name + "'");
  if (!(coat_mm >= 0.01 && coat_mm <= 2) || !(de00 > 0)) {
    throw ArgumentError("masking needs coats of 0.01 to 2 mm and a ΔE00 above 0, not " +
                        detail::format_short(coat_mm) + " mm and " + detail::format_short(de00));
  }
  const auto even = [&](double level) {
    return Reflectance(floor.grid(), std::vector<double>(floor.size(), level));
  };
  const auto depth_of = [&](const Paste& one) -> std::optional<double> {
    const auto lab = [&](const Reflectance& under, double mm) {
      return to_lab(predict(Stack{under, {{one, mm}}, false}, engine), viewing);
    };
    // The paste alone is what hides any floor.
    const Lab alone = lab(even(0), deepest_mm);
    if (mamelon::de00(alone, lab(even(1), deepest_mm)) > de00) return {};
    return depth_that_hides([&](double mm) { return mamelon::de00(alone, lab(floor, mm)); }, de00);
  };
  const std::optional<double> depth = depth_of(paste);
  if (!depth) return {};
  Masking out{.thickness_mm = *depth, .coat_mm = coat_mm};
  out.thickness_95_mm = interval_95(paste, engine, *depth, depth_of);
  const double surely = out.thickness_95_mm ? (*out.thickness_95_mm)[1] : *depth;
  constexpr double rounding = 1e-9;
  out.coats = static_cast<int>(std::ceil(surely / coat_mm - rounding));
  return out;
}

}  // namespace mamelon
