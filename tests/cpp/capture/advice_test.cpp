#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/layout.h"

#include "demo.h"

namespace {

using mamelon::card_advice;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

TEST(CardAdvice, HasNothingToAskOfTheToothCard) {
  EXPECT_THAT(card_advice(demo::card("tooth20"), demo::d65()), IsEmpty());
}

TEST(CardAdvice, CountsWhatIsMissing) {
  mamelon::Card card = demo::card("tooth20");
  std::erase_if(card.patches, [](const mamelon::Patch& p) {
    return p.name == "n0" || p.name == "n1" || p.name == "n2" || p.name == "t0" || p.name == "t1" ||
           p.name == "t2" || p.name.front() == 'c';
  });
  card.white_areas.resize(4);
  EXPECT_THAT(card_advice(card, demo::d65()),
              ElementsAre(HasSubstr("3 neutral patches; 4 or more"),
                          HasSubstr("5 patches of tooth-like colour; 6 or more"),
                          HasSubstr("0 reddish patches; 2 or more"),
                          HasSubstr("4 white areas; 15 or more")));
}

// A Lab under another viewing says nothing of the colour here.
TEST(CardAdvice, AsksForSpectraWherePatchesHaveALabOnly) {
  mamelon::Card card = demo::card("tooth20");
  for (mamelon::Patch& p : card.patches) {
    p.lab = to_lab(*p.reflectance, demo::d65());
    p.reflectance.reset();
  }
  card.viewing = demo::d65();
  EXPECT_THAT(card_advice(card, demo::d65()),
              ElementsAre(HasSubstr("20 patches are known by their Lab only")));
  EXPECT_THAT(card_advice(card, mamelon::viewing_from_string("A/2")),
              ElementsAre(HasSubstr("0 patches of tooth-like colour"),
                          HasSubstr("0 reddish patches"), HasSubstr("Lab only")));
}

}  // namespace
