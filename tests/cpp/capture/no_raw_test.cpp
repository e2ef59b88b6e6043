// What a build without LibRaw says of a camera raw file; built with no_raw.cpp in every build.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/error.h"

#include "capture/raw.h"

namespace {

TEST(NoRaw, RefusesAndSaysWhatToDo) {
  try {
    mamelon::detail::decode_raw({}, "shot.dng", {});
    ADD_FAILURE() << "accepted";
  } catch (const mamelon::CaptureError& error) {
    EXPECT_THAT(error.what(), testing::StartsWith("shot.dng: "));
    EXPECT_THAT(error.what(), testing::HasSubstr("built without LibRaw"));
    EXPECT_THAT(error.what(), testing::HasSubstr("linear 16-bit TIFF"));
  }
}

}  // namespace
