// What a build without libheif and libwebp says; built with the stand-ins in every build.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/error.h"

#include "capture/phone_files.h"

namespace {

TEST(NoPhoneFiles, AreNamedAndHowToExportIsSaid) {
  for (const auto& [decode, name] : {std::pair{&mamelon::detail::decode_heic, "HEIC"},
                                     std::pair{&mamelon::detail::decode_webp, "WebP"}}) {
    try {
      decode({}, "shot", {});
      ADD_FAILURE() << "accepted";
    } catch (const mamelon::CaptureError& error) {
      EXPECT_THAT(error.what(), testing::StartsWith("shot: is a " + std::string(name)));
      EXPECT_THAT(error.what(), testing::HasSubstr("export the photo as a JPEG"));
    }
  }
}

}  // namespace
