#include "mamelon/tabs.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "shade_helpers.h"

namespace mamelon {
namespace {

using test::eight_tabs;
using testing::HasSubstr;

void expect_refused(const TabSet& set, const std::string& words) {
  try {
    check_tab_set(set);
    FAIL() << "nothing was thrown, expected: " << words;
  } catch (const ArgumentError& error) {
    EXPECT_THAT(error.what(), HasSubstr(words));
  }
}

TEST(CheckTabSet, TakesASoundSet) {
  EXPECT_NO_THROW(check_tab_set(eight_tabs()));
}

TEST(CheckTabSet, TakesEqualColoursAndOneTab) {
  TabSet set = eight_tabs();
  set.tabs[1].lab.value = set.tabs[0].lab.value;
  EXPECT_NO_THROW(check_tab_set(set));
  set.tabs.resize(1);
  EXPECT_NO_THROW(check_tab_set(set));
}

TEST(CheckTabSet, RefusesWhatCannotBeATabSet) {
  TabSet empty = eight_tabs();
  empty.tabs.clear();
  expect_refused(empty, "expected 1 to 10000 items, got 0");

  TabSet unnamed = eight_tabs();
  unnamed.tabs[2].name.clear();
  expect_refused(unnamed, "tabs[2].name: the text is empty");

  TabSet twice = eight_tabs();
  twice.tabs[4].name = "flax";
  expect_refused(twice, "tab set 'eight'.tabs[4].name: the name \"flax\" is used twice");

  for (const Lab& bad : {Lab{101, 0, 0}, Lab{-1, 0, 0}, Lab{70, 151, 0}, Lab{70, 0, -151},
                         Lab{std::numeric_limits<double>::quiet_NaN(), 0, 0},
                         Lab{70, std::numeric_limits<double>::infinity(), 0}}) {
    TabSet set = eight_tabs();
    set.tabs[0].lab.value = bad;
    expect_refused(set, "tabs['");
    expect_refused(set, "].lab[");
  }
}

TEST(CheckTabSet, RefusesACovarianceThatIsNone) {
  TabSet set = eight_tabs();
  set.tabs[3].lab.random = {{{1, 2, 0}, {2, 1, 0}, {0, 0, 1}}};  // correlation 2
  expect_refused(set, "'husk'");
  set = eight_tabs();
  set.tabs[3].lab.shared = diagonal({0.1, -0.1, 0.1});
  expect_refused(set, "covariance");
  set = eight_tabs();
  set.tabs[3].lab.dof = -1;
  expect_refused(set, ".dof: expected a number of 0 or more, got -1");
}

}  // namespace
}  // namespace mamelon
