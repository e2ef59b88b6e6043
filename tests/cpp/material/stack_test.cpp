#include "mamelon/stack.h"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "paste_samples.h"

namespace mamelon {
namespace {

using test::flat_paste;
using test::visible;

Reflectance flat_floor(double r) {
  return {visible, std::vector<double>(visible.count, r)};
}

template <class Failure>
void expect_refused(const Stack& stack, const char* part) {
  try {
    (void)predict(stack);
    FAIL() << "accepted; expected a message with: " << part;
  } catch (const Failure& error) {
    EXPECT_THAT(error.what(), ::testing::HasSubstr(part));
  }
}

TEST(Stack, PredictsTheBilayerSeenThroughItsSurface) {
  Stack stack{flat_floor(.02),
              {{flat_paste("under", .10, .90), 1.0}, {flat_paste("over", .03, .45), .5}},
              true};
  // .4907859029 computed from the formulas (Kubelka 1954), then Saunderson with n = 1.5.
  const double expected = .04 + .96 * (1 - interface_of(1.5, true).k2) * .4907859029 /
                                    (1 - interface_of(1.5, true).k2 * .4907859029);
  const Reflectance predicted = predict(stack);
  for (const double r : predicted.values()) {
    EXPECT_NEAR(r, expected, 1e-9);
  }
  stack.specular_included = false;
  EXPECT_NEAR(predict(stack)[7], expected - .04, 1e-9);
}

TEST(Stack, TheSurfaceIsThatOfTheOutermostPaste) {
  Stack stack{
      flat_floor(.3), {{flat_paste("under", .1, .9), 1}, {flat_paste("over", .1, .9), 1}}, true};
  const double before = predict(stack)[0];
  stack.layers[0].paste.refractive_index = 1.7;
  EXPECT_EQ(predict(stack)[0], before);
  stack.layers[1].paste.refractive_index = 1.7;
  EXPECT_NE(predict(stack)[0], before);
}

TEST(Stack, StacksThatMakeNoSenseAreRefused) {
  const Paste paste = flat_paste("fawn", .1, .7);
  expect_refused<ArgumentError>({flat_floor(.3), {}, false}, "at least one layer");
  expect_refused<ArgumentError>({flat_floor(.3), {{paste, 0}}, false}, "thickness 0 mm");
  expect_refused<ArgumentError>({flat_floor(.3), {{paste, std::nan("")}}, false}, "thickness");
  expect_refused<ArgumentError>({flat_floor(.3), {{flat_paste("dun", -1, .7), 1}}, false},
                                "absorption");
  expect_refused<ArgumentError>({flat_floor(1.2), {{paste, 1}}, false}, "above 1");
  expect_refused<ArgumentError>({flat_floor(30), {{paste, 1}}, false}, "percent");
  expect_refused<ArgumentError>(
      {Reflectance({400, 20, 16}, std::vector<double>(16, .3)), {{paste, 1}}, false},
      "different wavelength grids");
  expect_refused<ModelError>({flat_floor(.3), {{paste, 16}, {paste, 15}}, false}, "31 mm");
}

}  // namespace
}  // namespace mamelon
