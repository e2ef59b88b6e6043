#include "mamelon/paste.h"

#include <limits>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "paste_samples.h"

namespace mamelon {
namespace {

using test::flat_paste;

void expect_refused(const PasteSet& set, const char* part) {
  try {
    check_paste_set(set);
    FAIL() << "accepted; expected a message with: " << part;
  } catch (const ArgumentError& error) {
    EXPECT_THAT(error.what(), ::testing::HasSubstr(part));
  }
}

TEST(Paste, RolesGoToTextAndBack) {
  for (const Role role :
       {Role::opaque, Role::dentine, Role::body, Role::enamel, Role::translucent}) {
    EXPECT_EQ(from_string<Role>(to_string(role)), role);
  }
  EXPECT_THROW((void)from_string<Role>("Dentine"), ArgumentError);
}

TEST(Paste, SetsThatMakeNoSenseAreRefusedByName) {
  const Paste good = flat_paste("fawn", 0.1, 0.7);
  EXPECT_NO_THROW(check_paste_set({"set", {good, flat_paste("dun", 0, 1)}, {}}));
  expect_refused({"set", {}, {}}, "expected 1 to 1000 items, got 0");
  expect_refused({"set", {good, good}, {}}, "\"fawn\" is used twice");
  expect_refused({"set", {flat_paste("", 0.1, 0.7)}, {}}, "pastes[0].name: the text is empty");
  expect_refused({"set", {flat_paste("fawn", -0.1, 0.7)}, {}},
                 "pastes['fawn'].absorption_per_mm[0]: expected a number from 0 to 1000, got -0.1");
  expect_refused({"set", {flat_paste("fawn", 0.1, 0)}, {}}, ".scattering_per_mm[0]");

  Paste other_grid = flat_paste("dun", 0.1, 0.7);
  other_grid.scattering = PerMm({400, 20, 16}, std::vector<double>(16, 0.7));
  expect_refused({"set", {other_grid}, {}}, "different wavelength grids");
  other_grid.absorption = PerMm({400, 20, 16}, std::vector<double>(16, 0.1));
  expect_refused({"set", {good, other_grid}, {}}, "another wavelength grid than paste 'fawn'");

  Paste bad = good;
  bad.refractive_index = 1.9;
  expect_refused({"set", {bad}, {}},
                 "refractive_index: expected a number from 1.3 to 1.8, got 1.9");
  bad = good;
  bad.increment_limit_mm = 0;
  expect_refused({"set", {bad}, {}}, "increment_limit_mm");
  bad = good;
  bad.radiant_exposure_j_cm2 = std::numeric_limits<double>::quiet_NaN();
  expect_refused({"set", {bad}, {}}, "radiant_exposure_j_cm2");
  bad = good;
  bad.minimum_mm = 2;
  bad.maximum_mm = 1;
  expect_refused({"set", {bad}, {}}, "maximum_mm 1 is below minimum_mm 2");
  bad = good;
  bad.reflectance_sd = 0.5;
  expect_refused({"set", {bad}, {}}, "reflectance_sd");
}

}  // namespace
}  // namespace mamelon
