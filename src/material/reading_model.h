#pragma once
// What an instrument reads of a specimen of given constants, by either engine.

#include <cstddef>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "mamelon/drawdown.h"

#include "material/edge_loss.h"
#include "material/instrument.h"
#include "material/ordinates.h"

namespace mamelon::detail {

// All that a set of readings rests on beside the thicknesses.
struct Constants {
  std::vector<double> absorption;
  std::vector<double> scattering;
  double anisotropy = 0;
  double refractive_index = 1.5;
  double scale = 1;        // what the instrument reads of what there is
  double backing = 1;      // what there is of the backings read in air, against what is stated
  double loss = 1;         // the edge loss against that of the table
  double transmitted = 1;  // the scale of transmittances
};

class ReadingModel {
 public:
  // A drawdown without an aperture is read by `unknown`; without that it loses nothing.
  ReadingModel(std::span<const Drawdown> drawdowns, const PasteFitOptions& options,
               const std::optional<Aperture>& unknown = {});

  [[nodiscard]] bool has_loss() const;
  [[nodiscard]] bool has_backing_in_air() const;
  [[nodiscard]] bool has_transmittance() const;

  // Constants made ready for any thickness.
  struct Optics;
  struct Prepared {
    Constants constants;
    std::shared_ptr<const Optics> optics;
    std::optional<Modes> even;
    std::optional<Modes> beam;
  };
  [[nodiscard]] Prepared prepare(Constants constants) const;

  // One a band.
  [[nodiscard]] std::vector<double> read(const Prepared& paste, std::size_t drawdown,
                                         double thickness_mm) const;

 private:
  [[nodiscard]] std::vector<double> transmitted(const Prepared& paste, std::size_t drawdown,
                                                double thickness_mm) const;

  struct Setup {
    Geometry geometry = Geometry::unstated;
    Backing contact = Backing::unstated;
    bool smooth_gap = false;
    Face lower_face = Face::smooth;
    std::vector<double> backing;  // as stated
    std::shared_ptr<const EdgeLoss> loss;
  };
  Engine engine_;
  int streams_;
  bool even_ = false;
  bool beam_ = false;
  std::vector<Setup> setups_;
};

}  // namespace mamelon::detail
