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
    EXPECT_EQ(role_from_string(to_string(role)), role);
  }
  EXPECT_THROW((void)role_from_string("Dentine"), ArgumentError);
}

TEST(Paste, SetsThatMakeNoSenseAreRefusedByName) {
  const Paste good = flat_paste("fawn", 0.1, 0.7);
  EXPECT_NO_THROW(check_paste_set({"set", {good, flat_paste("dun", 0, 1)}, {}}));
  expect_refused({"set", {}, {}}, "empty");
  expect_refused({"set", {good, good}, {}}, "'fawn' stands twice");
  expect_refused({"set", {flat_paste("", 0.1, 0.7)}, {}}, "without a name");
  expect_refused({"set", {flat_paste("fawn", -0.1, 0.7)}, {}}, "absorption at 400 nm is -0.1");
  expect_refused({"set", {flat_paste("fawn", 0.1, 0)}, {}}, "scattering at 400 nm is 0");

  Paste other_grid = flat_paste("dun", 0.1, 0.7);
  other_grid.scattering = PerMm({400, 20, 16}, std::vector<double>(16, 0.7));
  expect_refused({"set", {other_grid}, {}}, "different wavelength grids");
  other_grid.absorption = PerMm({400, 20, 16}, std::vector<double>(16, 0.1));
  expect_refused({"set", {good, other_grid}, {}}, "another wavelength grid than paste 'fawn'");

  Paste bad = good;
  bad.refractive_index = 1.9;
  expect_refused({"set", {bad}, {}}, "refractive index 1.9");
  bad = good;
  bad.increment_limit_mm = 0;
  expect_refused({"set", {bad}, {}}, "increment limit");
  bad = good;
  bad.radiant_exposure_j_cm2 = std::numeric_limits<double>::quiet_NaN();
  expect_refused({"set", {bad}, {}}, "radiant exposure");
  bad = good;
  bad.minimum_mm = 2;
  bad.maximum_mm = 1;
  expect_refused({"set", {bad}, {}}, "maximum thickness 1 mm");
  bad = good;
  bad.reflectance_sd = 0.5;
  expect_refused({"set", {bad}, {}}, "reflectance sd");
}

}  // namespace
}  // namespace mamelon
