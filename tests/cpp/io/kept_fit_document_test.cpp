// The document of a fit that is kept for later photos.

#include <functional>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/kept_fit.h"

namespace {

using mamelon::KeptFit;
using testing::HasSubstr;

const std::string data = MAMELON_DATA_DIR;

const KeptFit& kept() {
  static const KeptFit made =
      keep(mamelon::fit_card(mamelon::read_photo(data + "/photos/front_teeth_linear.tif"),
                             mamelon::read_card(data + "/cards/tooth20_frame.json"),
                             mamelon::viewing_from_string("D65/2")));
  return made;
}

TEST(KeptFitDocument, ReadsBackTheSame) {
  const std::string written = to_json(kept());
  EXPECT_EQ(to_json(mamelon::parse_kept_fit(written, "fit.json")), written);
}

TEST(KeptFitDocument, OneThatCannotBeTrueIsRefused) {
  const auto complaint = [](const std::function<void(KeptFit&)>& change) {
    KeptFit spoilt = kept();
    change(spoilt);
    try {
      (void)mamelon::parse_kept_fit(to_json(spoilt), "fit.json");
    } catch (const mamelon::DataError& error) {
      return std::string(error.what());
    }
    return std::string("none");
  };
  EXPECT_EQ(complaint([](KeptFit&) {}), "none");
  EXPECT_THAT(
      complaint([](KeptFit& k) { k.card = mamelon::read_card(data + "/cards/compact12.json"); }),
      HasSubstr("$.patches: are 20, but the card has 12"));
  EXPECT_THAT(complaint([](KeptFit& k) { std::swap(k.patches[0], k.patches[1]); }),
              HasSubstr("$.patches[0].name"));
  EXPECT_THAT(complaint([](KeptFit& k) { k.patches[2].rgb[1] = 1.2; }), HasSubstr("$.patches[2]"));
  EXPECT_THAT(complaint([](KeptFit& k) { k.patches[2].rgb_cov[0][1] = 1; }),
              HasSubstr("$.patches[2].rgb_cov"));
  EXPECT_THAT(complaint([](KeptFit& k) { k.whites[1].at.x = 1e5; }), HasSubstr("$.whites[1].at"));
  EXPECT_THAT(complaint([](KeptFit& k) { k.mm_to_px.fill(0); }), HasSubstr("$.mm_to_px"));
  const std::string whole = to_json(kept());
  EXPECT_THROW((void)mamelon::parse_kept_fit(whole.substr(0, whole.size() / 2), "fit.json"),
               mamelon::DataError);
  EXPECT_THROW((void)mamelon::parse_kept_fit(to_json(kept().card), "fit.json"), mamelon::DataError);
}

}  // namespace
