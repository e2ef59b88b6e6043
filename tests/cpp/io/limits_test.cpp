// What lies beyond a limit is refused by one sentence that names it.

#include "mamelon/limits.h"

#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/match.h"
#include "mamelon/stack.h"

namespace mamelon {
namespace {

using testing::HasSubstr;

template <class Call>
std::string refusal(const Call& call) {
  try {
    call();
  } catch (const Error& error) {
    return error.what();
  }
  return "nothing was refused";
}

TEST(Limits, ASpectrumOfTooManyBands) {
  EXPECT_THAT(refusal([] {
                check_grid({400, 0.01, limits::spectrum_bands + 1});
              }),
              HasSubstr("from 3 to 5000, got 5001"));
}

TEST(Limits, ASetOfTooManyTabs) {
  TabSet set{.name = "mine", .tabs = {}, .viewing = viewing_from_string("D65/2"), .provenance = {}};
  for (std::size_t i = 0; i <= limits::tabs; ++i) {
    Tab tab;
    tab.name = std::to_string(i);
    tab.lab.value = {70, 1, 15};
    set.tabs.push_back(tab);
  }
  EXPECT_THAT(refusal([&] { check_tab_set(set); }),
              HasSubstr("expected 1 to 10000 items, got 10001"));
}

TEST(Limits, ASetOfTooManyPastesAndAStackOfTooManyLayers) {
  const PasteSet demo = read_paste_set(MAMELON_DATA_DIR "/pastes/orchard10.json");
  PasteSet set = demo;
  for (std::size_t i = 0; set.pastes.size() <= limits::pastes; ++i) {
    set.pastes.push_back(demo.pastes.front());
    set.pastes.back().name = std::to_string(i);
  }
  EXPECT_THAT(refusal([&] { check_paste_set(set); }),
              HasSubstr("expected 1 to 1000 items, got 1001"));

  const Grid grid = demo.pastes.front().absorption.grid();
  Stack stack{.floor = Reflectance(grid, std::vector<double>(grid.count, 0.3)), .layers = {}};
  stack.layers.assign(limits::stack_layers + 1, {demo.pastes.front(), 0.1});
  EXPECT_THAT(refusal([&] { (void)predict(stack); }), HasSubstr("has 1001 layers; at most 1000"));
}

TEST(Limits, ADocumentThatNestsTooDeep) {
  const std::string deep(static_cast<std::size_t>(limits::document_depth) + 2, '[');
  EXPECT_THAT(refusal([&] { (void)parse_tab_set(deep, "set.json"); }),
              HasSubstr("set.json: is nested more than 32 levels deep"));
}

}  // namespace
}  // namespace mamelon
