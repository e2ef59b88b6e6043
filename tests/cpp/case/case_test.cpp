// What a case may be, and the sentence for what it may not.

#include "mamelon/case.h"

#include <functional>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mamelon/error.h"

#include "samples.h"

namespace mamelon {
namespace {

using test::read_at;
using test::restoration;
using test::two_teeth;

// ISO 3950:2016, tooth numbers: 32 permanent teeth in quadrants 1–4, 20 deciduous in 5–8.
TEST(ToothNumber, AreThoseOfTheStandard) {
  int permanent = 0;
  int deciduous = 0;
  for (int number = -100; number < 1000; ++number) {
    if (!is_tooth_number(number)) continue;
    ++(number < 50 ? permanent : deciduous);
  }
  EXPECT_EQ(permanent, 32);
  EXPECT_EQ(deciduous, 20);
  for (const int number : {11, 23, 33, 42, 53, 81}) {
    EXPECT_EQ(tooth_kind(number), ToothKind::anterior) << number;
  }
  for (const int number : {14, 28, 36, 45, 54, 75}) {
    EXPECT_EQ(tooth_kind(number), ToothKind::posterior) << number;
  }
  for (const int number : {0, 10, 19, 49, 56, 91}) {
    EXPECT_THROW((void)tooth_kind(number), ArgumentError) << number;
  }
}

TEST(TeethOfATable, AreOneALabelWhereZonesAreStated) {
  const auto zoned =
      teeth_of({read_at("11", "middle", {70, 1, 15}), read_at("21", "middle", {71, 1, 15}),
                read_at("11", "cervical", {68, 2, 18})});
  ASSERT_EQ(zoned.size(), 2U);
  EXPECT_EQ(zoned[0].name, "11");
  EXPECT_EQ(zoned[0].readings.size(), 2U);
  EXPECT_EQ(zoned[1].readings.size(), 1U);
  const auto places =
      teeth_of({read_at("neck", "", {70, 1, 15}), read_at("edge", "", {71, 1, 15})});
  ASSERT_EQ(places.size(), 1U);
  EXPECT_EQ(places[0].readings.size(), 2U);
}

// In a document a mask is text, and comes back the same.
TEST(MaskText, ComesBackTheSame) {
  Mask mask{3, 4, 5, 2, {0, 1, 1, 0, 0, 0, 1, 1, 1, 1}};
  EXPECT_EQ(AsText<Mask>::write(mask), "3,4,5,2:1,2,3,4");
  for (int first = 0; first < 2; ++first) {
    mask.inside[0] = static_cast<std::uint8_t>(first);
    const Mask again = AsText<Mask>::read(AsText<Mask>::write(mask));
    EXPECT_EQ(again.x, 3U);
    EXPECT_EQ(again.y, 4U);
    EXPECT_EQ(again.width, 5U);
    EXPECT_EQ(again.inside, mask.inside);
  }
  for (const char* wrong : {"", "3,4,5,2", "3,4,5,2:9", "3,4,5,2:11", "3,4,5:2,10", "3,4,5,2:1,x",
                            "0,0,99999999999,2:1", "3,4,5,2:5,-1,6", "3,4,5,2:10,"}) {
    EXPECT_THROW((void)AsText<Mask>::read(wrong), ArgumentError) << wrong;
  }
}

TEST(GivenFile, IsKnownByItsDigest) {
  // FIPS 180-4, the digest of "abc" (NIST's example).
  const GivenFile file({std::byte{'a'}, std::byte{'b'}, std::byte{'c'}});
  EXPECT_EQ(file.sha256(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(GivenFile::known_by(file.sha256()).sha256(), file.sha256());
  EXPECT_THROW((void)GivenFile::known_by("BA78"), ArgumentError);
}

struct Wrong {
  std::string said;
  std::function<void(Case&)> spoil;
};

TEST(CheckCase, RefusesWhatCannotBeSolved) {
  const std::vector<Wrong> all = {
      {"needs a tooth", [](Case& c) { c.teeth.clear(); }},
      {"neither readings nor a photo", [](Case& c) { c.teeth[0].readings.clear(); }},
      {"is no tooth in ISO 3950", [](Case& c) { c.teeth[0].number = 19; }},
      {"two teeth are called",
       [](Case& c) {
         c.teeth[0].number = 11;
         c.teeth[1].number = 11;
       }},
      {"no tooth is named \"31\"", [](Case& c) { c.headline = "31"; }},
      {"depths_mm: expected 1 to 2500 items, got 0",
       [](Case& c) { c.restoration->depths_mm.clear(); }},
      {"depths_mm[0]: expected a number above 0 and at most 20, got 21",
       [](Case& c) { c.restoration->depths_mm = {21}; }},
      {"the floor is one of", [](Case& c) { c.restoration->floor.reflectance.reset(); }},
      {"say where the floor is",
       [](Case& c) {
         c.restoration->floor.reflectance.reset();
         c.restoration->floor.photo.emplace();
       }},
      {"give the set",
       [](Case& c) {
         c.tabs.reset();
         c.tabs_in_photo = {{"reed", {0, 0, 9, 9}}};
       }},
      {"no tab named \"oat\"",
       [](Case& c) {
         c.tabs_in_photo = {{"oat", {0, 0, 9, 9}}};
       }},
      {"pointed at twice",
       [](Case& c) {
         c.tabs_in_photo = {{"reed", {0, 0, 9, 9}}, {"reed", {50, 0, 9, 9}}};
       }},
  };
  for (const Wrong& wrong : all) {
    Case given = two_teeth();
    given.restoration = restoration();
    check_case(given);
    wrong.spoil(given);
    try {
      check_case(given);
      ADD_FAILURE() << wrong.said;
    } catch (const ArgumentError& error) {
      EXPECT_NE(std::string(error.what()).find(wrong.said), std::string::npos) << error.what();
    }
  }
}

}  // namespace
}  // namespace mamelon
