#include "mamelon/opacity.h"

#include "mamelon/appearance.h"
#include "mamelon/difference.h"

namespace mamelon {
namespace {

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
  // What shows through only falls with depth, so that halving the interval finds the threshold.
  constexpr double deepest_mm = 30;
  double shows = 0;
  double hidden = deepest_mm;
  if (floors.tp00(deepest_mm) > threshold::perceptible_de00) {
    return result;
  }
  constexpr double fine_enough_mm = 1e-4;
  while (hidden - shows > fine_enough_mm) {
    const double middle = (shows + hidden) / 2;
    (floors.tp00(middle) > threshold::perceptible_de00 ? shows : hidden) = middle;
  }
  result.infinite_mm = hidden;
  return result;
}

}  // namespace mamelon
