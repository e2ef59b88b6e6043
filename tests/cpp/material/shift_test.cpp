#include "mamelon/shift.h"

#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/drawdown.h"
#include "mamelon/viewing.h"

#include "paste_samples.h"

namespace mamelon {
namespace {

const Viewing& d65() {
  static const Viewing viewing{standard_illuminant("D65"), Observer::deg2};
  return viewing;
}

Paste dun() {
  Paste paste = test::flat_paste("dun", 0.08, 1.4);
  paste.transport = TransportConstants{paste.absorption, paste.scattering, 0.7};
  paste.reflectance_sd = 0;
  paste.shifts = {{.name = "week", .change = {-1.5, 0.3, 2}, .change_sd = {0.6, 0.2, 0.8}},
                  {.name = "dry", .change = {2, 0, -1}}};
  return paste;
}

Lab over_black(const Paste& paste, double mm, Engine engine) {
  const Reflectance black(test::visible, std::vector<double>(test::visible.count));
  return to_lab(predict(Stack{black, {{paste, mm}}, false}, engine), d65());
}

TEST(Shift, ASpecimenChangesByWhatWasRead) {
  const Paste before = dun();
  for (const ColourShift& shift : before.shifts) {
    const Paste after = shifted(before, shift.name);
    for (const Engine engine : {Engine::kubelka_munk, Engine::transport}) {
      const Lab a = over_black(before, 2, engine);
      const Lab b = over_black(after, 2, engine);
      EXPECT_NEAR(b.l - a.l, shift.change[0], 1e-4);
      EXPECT_NEAR(b.a - a.a, shift.change[1], 1e-4);
      EXPECT_NEAR(b.b - a.b, shift.change[2], 1e-4);
    }
    EXPECT_TRUE(after.shifts.empty());
  }
}

TEST(Shift, ItsSpreadIsInTheIntervalAndAlikeInLayersOfOnePaste) {
  const Paste after = shifted(dun(), "week");
  const Reflectance black(test::visible, std::vector<double>(test::visible.count));
  const auto sd = [&](const std::vector<Layer>& layers) {
    const std::vector<double> exact(layers.size());
    return predict_with_error(Stack{black, layers, false}, exact, d65(), Engine::transport)
        .lab.sd();
  };
  const Vec3 whole = sd({{after, 2}});
  EXPECT_NEAR(whole[0], 0.6, 0.02);
  EXPECT_NEAR(whole[1], 0.2, 0.02);
  EXPECT_NEAR(whole[2], 0.8, 0.02);
  // Two halves of one paste err as the whole does.
  const Vec3 halves = sd({{after, 1}, {after, 1}});
  for (std::size_t k = 0; k < 3; ++k) EXPECT_NEAR(halves.at(k), whole.at(k), 1e-3);
  // Without transport the model error stands for it.
  EXPECT_GT(after.reflectance_sd, 0.003);
}

TEST(Shift, OfASetNamesWhoStatesNone) {
  PasteSet set{
      .name = "two", .pastes = {dun(), test::flat_paste("oat", 0.05, 1)}, .provenance = {}};
  std::vector<std::string> warnings;
  const PasteSet after = shifted(set, "week", warnings);
  ASSERT_EQ(warnings.size(), 1U);
  EXPECT_NE(warnings[0].find("oat"), std::string::npos);
  EXPECT_EQ(after.pastes[1].absorption, set.pastes[1].absorption);
  EXPECT_NE(after.pastes[0].absorption, set.pastes[0].absorption);
  EXPECT_THROW((void)shifted(set, "month", warnings), ArgumentError);
  EXPECT_THROW((void)shifted(set.pastes[1], "week"), ArgumentError);
}

TEST(Shift, ThatNoPasteCanShowIsRefused) {
  Paste paste = dun();
  paste.shifts = {{.name = "white", .change = {39, 0, 0}}};
  EXPECT_THROW((void)shifted(paste, "white"), ModelError);
}

}  // namespace
}  // namespace mamelon
