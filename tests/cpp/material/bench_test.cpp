// Drawdowns as benches have them: air gaps, small apertures, scales that are off, wrong
// descriptions.

#include <cmath>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/drawdown.h"

#include "drawdown_samples.h"
#include "material/reading_model.h"

namespace mamelon {
namespace {

using test::flat;
using test::visible;

Paste turbid() {
  Paste paste = test::flat_paste("fawn", 0.1, 1);
  std::vector<double> absorption;
  std::vector<double> reduced;
  for (std::size_t i = 0; i < visible.count; ++i) {
    const double nm = visible.wavelength_nm(i);
    absorption.push_back(0.01 + 0.15 / (1 + std::exp((nm - 460) / 25)));
    reduced.push_back(1.4 * std::pow(550 / nm, 0.7));
  }
  paste.transport = TransportConstants{PerMm(visible, absorption), PerMm(visible, reduced), 0.7};
  return paste;
}

struct Bench {
  Backing contact = Backing::seen_in_air;
  std::optional<Aperture> aperture = Aperture{1000, 500};
  double scale = 1;
};

// Three discs over black and white as 16 streams and the bench have them.
std::vector<Drawdown> measure(const Bench& bench) {
  std::mt19937 random(4);
  std::normal_distribution<double> normal;
  const Paste paste = turbid();
  std::vector<Drawdown> all;
  for (const double mm : {0.5, 1.0, 2.0}) {
    for (const double backing : {0.045, 0.82}) {
      Drawdown one;
      one.specimen = mm == 0.5 ? "thin" : mm == 1 ? "middle" : "thick";
      one.thickness_mm = mm;
      one.geometry = Geometry::diffuse_8_excluded;
      one.contact = bench.contact;
      one.backing = flat(backing);
      one.aperture = bench.aperture;
      const detail::ReadingModel model(std::span(&one, 1),
                                       {.engine = Engine::transport, .streams = 16});
      std::vector<double> seen =
          model.read(model.prepare({paste.transport->absorption.values(),
                                    paste.transport->reduced_scattering.values(), 0.7}),
                     0, mm);
      for (double& value : seen) value = bench.scale * value + 0.002 * normal(random);
      one.measured = Reflectance(visible, std::move(seen));
      all.push_back(std::move(one));
    }
  }
  return all;
}

PasteFitOptions by_transport() {
  PasteFitOptions options;
  options.engine = Engine::transport;
  options.model_sd = transport_model_sd;
  return options;
}

const Viewing& d65() {
  static const Viewing viewing{standard_illuminant("D65"), Observer::deg2};
  return viewing;
}

double miss(const PasteFit& fit, double mm) {
  const FittedLayer layer{&fit, mm, 0};
  const Reflectance seen =
      predict(Stack{flat(0.2), {{turbid(), mm}}, false}, Engine::transport, 16);
  return de00(to_lab(seen, d65()),
              predict_fitted(flat(0.2), std::span(&layer, 1), d65()).lab.value);
}

// `edge_loss 200000 11 check …` (tests/bench/edge_loss.cpp): photons under a smooth face over air,
// standard error 0.001.
TEST(Bench, ASmoothFaceOverAirReadsWhatPhotonsDo) {
  struct Slab {
    double absorption, scattering, g, mm, backing, seen;
  };
  double smooth_faces = 0;
  double even_faces = 0;
  for (const Slab& slab :
       {Slab{0.05, 5, 0.8, 1, 0.9, 0.57978}, Slab{0.02, 4, 0.7, 0.5, 0.8, 0.69916},
        Slab{0.2, 6, 0.8, 1, 0.05, 0.17653}, Slab{0.01, 2, 0, 2, 0.82, 0.70606}}) {
    Drawdown one;
    one.thickness_mm = slab.mm;
    one.geometry = Geometry::diffuse_8_excluded;
    one.contact = Backing::air_gap;
    one.backing = flat(slab.backing);
    one.aperture = Aperture{1000, 500};
    const detail::ReadingModel model(std::span(&one, 1), by_transport());
    const std::vector<double> absorption(visible.count, slab.absorption);
    const std::vector<double> reduced(visible.count, slab.scattering * (1 - slab.g));
    const double seen = model.read(model.prepare({absorption, reduced, slab.g}), 0, slab.mm)[0];
    EXPECT_NEAR(seen, slab.seen, 0.004);
    // A face that scatters evenly is another thing, most of all under a thin light specimen.
    if (slab.mm > 1 || slab.absorption > 0.1) continue;
    one.lower_face = Face::rough;
    const detail::ReadingModel rough(std::span(&one, 1), by_transport());
    even_faces += std::abs(rough.read(rough.prepare({absorption, reduced, slab.g}), 0, slab.mm)[0] -
                           slab.seen);
    smooth_faces += std::abs(seen - slab.seen);
  }
  EXPECT_LT(smooth_faces, even_faces);
}

TEST(Bench, AirGapsAndKnownAperturesAreFitted) {
  const PasteFit gap = fit_paste(measure({.contact = Backing::air_gap}), by_transport());
  EXPECT_LT(miss(gap, 1.3), 0.5);
  const PasteFit small = fit_paste(measure({.aperture = Aperture{8, 4}}), by_transport());
  EXPECT_LT(miss(small, 1.3), 0.4);
}

void expect_cause(const std::vector<Drawdown>& drawdowns, const char* part) {
  try {
    (void)fit_paste(drawdowns, by_transport());
    FAIL() << "accepted; expected a message with: " << part;
  } catch (const ModelError& error) {
    EXPECT_THAT(error.what(), ::testing::HasSubstr(part));
  }
}

TEST(Bench, AWrongDescriptionIsRefusedByItsCause) {
  std::vector<Drawdown> lying = measure({.contact = Backing::air_gap});
  for (Drawdown& one : lying) one.contact = Backing::seen_in_air;
  expect_cause(lying, "air gap");

  std::vector<Drawdown> miscut = measure({});
  for (Drawdown& one : miscut) {
    if (one.specimen == "middle") one.thickness_mm = 1.3;
  }
  expect_cause(miscut, "thickness of specimen 'middle'");

  for (const Aperture aperture : {Aperture{8, 4}, Aperture{13, 8}}) {
    std::vector<Drawdown> small = measure({.aperture = aperture});
    for (Drawdown& one : small) one.aperture = Aperture{1000, 500};
    expect_cause(small, "aperture");
  }
}

TEST(Bench, AScaleThatIsOffIsFoundOrCovered) {
  const PasteFit fit = fit_paste(measure({.scale = 0.98}), by_transport());
  EXPECT_LT(fit.scale, 0.995);
  const FittedLayer layer{&fit, 1.3, 0};
  const FittedPrediction seen = predict_fitted(flat(0.2), std::span(&layer, 1), d65());
  const double l =
      to_lab(predict(Stack{flat(0.2), {{turbid(), 1.3}}, false}, Engine::transport, 16), d65()).l;
  EXPECT_LT(std::abs(l - seen.lab.value.l), 2.5 * seen.lab.sd()[0]);
}

TEST(Bench, AnApertureThatIsNotStatedIsSaidAndCovered) {
  std::vector<Drawdown> drawdowns = measure({.aperture = Aperture{8, 4.5}});
  const PasteFit known = fit_paste(drawdowns, by_transport());
  for (Drawdown& one : drawdowns) one.aperture.reset();
  const PasteFit open = fit_paste(drawdowns, by_transport());
  EXPECT_THAT(open.warnings, ::testing::Contains(::testing::HasSubstr("aperture is not stated")));
  EXPECT_THAT(known.warnings,
              ::testing::Not(::testing::Contains(::testing::HasSubstr("aperture"))));
  const FittedLayer layer{&open, 1.3, 0};
  const FittedPrediction seen = predict_fitted(flat(0.2), std::span(&layer, 1), d65());
  const double l =
      to_lab(predict(Stack{flat(0.2), {{turbid(), 1.3}}, false}, Engine::transport, 16), d65()).l;
  EXPECT_LT(std::abs(l - seen.lab.value.l), 2.5 * seen.lab.sd()[0]);
}

TEST(Bench, ReadingsThatScatterWidenTheirIntervals) {
  std::vector<Drawdown> calm = measure({});
  std::vector<Drawdown> loud = calm;
  std::mt19937 random(6);
  std::normal_distribution<double> normal;
  for (Drawdown& one : loud) {
    std::vector<double> values = one.measured.values();
    for (double& value : values) value += 0.003 * normal(random);
    one.measured = Reflectance(visible, std::move(values));
  }
  const PasteFit fit = fit_paste(loud, by_transport());
  EXPECT_NEAR(fit.widened, std::sqrt(fit.chi_square / fit.degrees_of_freedom), 1e-9);
  EXPECT_GT(fit.widened, 1.4);
  EXPECT_GT(fit.ln_scattering_sd[15], 1.3 * fit_paste(calm, by_transport()).ln_scattering_sd[15]);
}

TEST(Bench, APastesModesSayWhatItsFitSays) {
  const std::vector<Drawdown> drawdowns = measure({});
  const PasteFit fit = fit_paste(drawdowns, by_transport());
  const Paste paste = paste_of("fawn", Role::body, two_fluxes_like(fit, drawdowns), &fit);
  ASSERT_LE(paste.transport->modes.size(), most_constants_modes);
  ASSERT_FALSE(paste.transport->modes.empty());
  const FittedLayer layer{&fit, 1.3, 0.1};
  const FittedPrediction whole = predict_fitted(flat(0.2), std::span(&layer, 1), d65());
  const Stack stack{flat(0.2), {{paste, 1.3}}, false};
  EXPECT_EQ(best_engine(stack), Engine::transport);
  const std::array thickness_sd{0.1};
  const FittedPrediction few = predict_with_error(stack, thickness_sd, d65(), Engine::transport);
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_NEAR(few.lab.sd().at(i), whole.lab.sd().at(i), 0.1 * whole.lab.sd().at(i) + 0.01);
  }
  EXPECT_THROW((void)predict_with_error(stack, {}, d65(), Engine::transport), ArgumentError);
}

}  // namespace
}  // namespace mamelon
