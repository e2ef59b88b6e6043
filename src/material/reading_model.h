#pragma once
// What an instrument reads of a specimen of given constants, by either engine.

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "mamelon/drawdown.h"

#include "material/instrument.h"
#include "material/ordinates.h"

namespace mamelon::detail {

struct Constants {
  std::vector<double> absorption;
  std::vector<double> scattering;
  double anisotropy = 0;
};

class ReadingModel {
 public:
  ReadingModel(std::span<const Drawdown> drawdowns, const PasteFitOptions& options);

  // Constants made ready for any thickness.
  struct Prepared {
    Constants constants;
    std::optional<Modes> even;
    std::optional<Modes> beam;
  };
  [[nodiscard]] Prepared prepare(Constants constants) const;

  // One a band.
  [[nodiscard]] std::vector<double> read(const Prepared& paste, std::size_t drawdown,
                                         double thickness_mm) const;

 private:
  struct Setup {
    Geometry geometry;
    Instrument instrument;
    std::vector<double> backing;  // from inside
  };
  Engine engine_;
  std::vector<Setup> setups_;
  std::optional<Ordinates> even_;
  std::optional<Ordinates> beam_;
};

}  // namespace mamelon::detail
