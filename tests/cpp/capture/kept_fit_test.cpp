// A fit that is kept for later photos, and whether they belong to it.

#include "mamelon/kept_fit.h"

#include <algorithm>
#include <cmath>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/error.h"
#include "mamelon/zones.h"

#include "capture/exif.h"
#include "capture/later.h"
#include "demo.h"

namespace {

using demo::d65;
using demo::exposed;
using demo::scene;
using mamelon::ArgumentError;
using mamelon::CaptureError;
using mamelon::CardFit;
using mamelon::fit_card;
using mamelon::fit_later;
using mamelon::keep;
using mamelon::KeptFit;
using mamelon::KnownSurface;
using mamelon::Lab;
using mamelon::LightDrift;
using mamelon::Photo;
using mamelon::Signal;
using mamelon::SurfaceKind;
using testing::AllOf;
using testing::Contains;
using testing::HasSubstr;

// Settings of a fixed camera.
mamelon::CameraSettings fixed() {
  return {.camera = "Invented One",
          .exposure_s = 0.008,
          .f_number = 22,
          .iso = 200,
          .white_balance = mamelon::WhiteBalance::fixed,
          .taken = "2026-11-29 10:20:30"};
}

const Photo& first() {
  static const Photo photo = [] {
    Photo made = scene("front_teeth_linear").photo;
    made.settings = fixed();
    return made;
  }();
  return photo;
}

const CardFit& by_card() {
  static const CardFit fit = fit_card(first(), demo::card("tooth20_frame"), d65());
  return fit;
}

const KeptFit& kept() {
  static const KeptFit made = keep(by_card());
  return made;
}

Photo later() {
  Photo photo = first();
  photo.provenance.digest = std::string(64, 'b');
  return photo;
}

mamelon::PointPx on_tooth() {
  return scene("front_teeth_linear").teeth.front().point;
}
Signal tooth() {
  return {{0.3, 0.26, 0.2}, mamelon::diagonal({1e-8, 1e-8, 1e-8}), on_tooth()};
}

std::string refusal(const std::function<void()>& call) {
  try {
    call();
  } catch (const CaptureError& error) {
    return error.what();
  }
  return "none";
}

TEST(KeptFit, IsMadeAgainToTheSameBits) {
  const CardFit again = mamelon::detail::fit_again(kept(), d65());
  for (const SurfaceKind kind : {SurfaceKind::tooth, SurfaceKind::tab, SurfaceKind::unknown}) {
    for (const mamelon::Vec3& rgb : {mamelon::Vec3{0.3, 0.26, 0.2}, mamelon::Vec3{0.5, 0.5, 0.4}}) {
      const Signal signal = {rgb, tooth().rgb_cov, on_tooth(), kind};
      EXPECT_EQ(again.correction->lab(signal), by_card().correction->lab(signal));
    }
  }
  EXPECT_EQ(again.loo_de00_median, by_card().loo_de00_median);
}

TEST(KeptFit, ReadsALaterPhotoAsTheCardDidWithinWhatMayHaveDrifted) {
  const CardFit fit = fit_later(later(), kept(), d65());
  const auto before = by_card().correction->lab(tooth());
  const auto after = fit.correction->lab(tooth());
  EXPECT_EQ(after.value, before.value);
  EXPECT_EQ(after.random, before.random);
  // dL*/d ln light is (L* + 16) / 3; channels that drift by themselves move it a little more.
  const double light = 0.07 * (before.value.l + 16) / 3;
  const double grown = after.shared[0][0] - before.shared[0][0];
  EXPECT_GT(grown, light * light);
  EXPECT_LT(grown, 1.05 * light * light);
  EXPECT_THAT(fit.warnings, Contains(HasSubstr("no card in the photo")));
  EXPECT_THAT(fit.warnings, testing::Not(Contains(HasSubstr("cannot be told"))));
  const CardFit steady = fit_later(later(), kept(), d65(),
                                   {.drift = LightDrift{.light = 0, .colour = 0}, .px_per_mm = {}});
  EXPECT_EQ(steady.correction->lab(tooth()), before);
}

TEST(KeptFit, SaysWhatALaterPhotoDoesNotShareWithIt) {
  const auto refused = [](const std::function<void(Photo&)>& change) {
    Photo photo = later();
    change(photo);
    return refusal([&] { (void)fit_later(photo, kept(), d65()); });
  };
  EXPECT_THAT(refused([](Photo& p) { p.settings.camera = "Invented Two"; }),
              HasSubstr("another camera"));
  EXPECT_THAT(refused([](Photo& p) { p.settings.exposure_s = 0.016; }),
              HasSubstr("exposure 0.016 s in place of 0.008 s"));
  EXPECT_THAT(refused([](Photo& p) { p.settings.f_number = 16; }), HasSubstr("aperture 16"));
  EXPECT_THAT(refused([](Photo& p) {
                p.settings.iso = 400;
                p.encoding = mamelon::Encoding::srgb_assumed;
              }),
              AllOf(HasSubstr("sensitivity 400"), HasSubstr("encoding srgb assumed")));
  EXPECT_THAT(
      refused([](Photo& p) { p.settings.white_balance = mamelon::WhiteBalance::automatic; }),
      HasSubstr("balance of white automatic in place of fixed"));
  EXPECT_THAT(refused([](Photo& p) { p.profile_description = "another"; }), HasSubstr("profile"));
  EXPECT_THAT(refused([](Photo& p) {
                p.height -= 1;
                p.rgb.resize(3 * p.width * p.height);
              }),
              HasSubstr("size"));
  // What files round is the same.
  EXPECT_EQ(refused([](Photo& p) { p.settings.exposure_s = 0.00805; }), "none");
}

TEST(KeptFit, IsWiderWhereFilesDoNotSayHowTheyWereTaken) {
  Photo photo = later();
  photo.settings = {};
  const CardFit fit = fit_later(photo, kept(), d65());
  EXPECT_THAT(fit.warnings,
              Contains(AllOf(HasSubstr("camera, exposure, aperture, sensitivity, balance of white"),
                             HasSubstr("the interval is wider"))));
  // Twice the drift: four times what it adds to the variance.
  const auto added = [](const CardFit& f) {
    return f.correction->lab(tooth()).shared[0][0] -
           by_card().correction->lab(tooth()).shared[0][0];
  };
  EXPECT_NEAR(added(fit), 4 * added(fit_later(later(), kept(), d65())), 1e-6 * added(fit));
}

// A tab of known colour in the later photo: what changed is taken off beside it.
TEST(KeptFit, WhatStandsInTheLaterPhotoTellsWhatChanged) {
  const auto& s = scene("front_teeth_linear");
  // The upper left tooth stands for a tab; its neighbour is read.
  const mamelon::BoxPx box = {s.teeth[0].point.x - 20, s.teeth[0].point.y - 20, 40, 40};
  const auto as_before = read_box(first(), by_card(), box, SurfaceKind::tab, "tab").lab.value;
  const KnownSurface surface{.name = "tab", .box = box, .lab = as_before, .reflectance = {}};
  Photo dim = exposed(first(), 0.92);
  dim.settings = fixed();
  const mamelon::BoxPx other = {s.teeth[1].point.x - 20, s.teeth[1].point.y - 20, 40, 40};
  const auto read = [&](const CardFit& fit, const Photo& photo) {
    return read_box(photo, fit, other, SurfaceKind::tab, "other").lab;
  };
  const Lab truth = read(by_card(), first()).value;
  const auto alone = read(fit_later(dim, kept(), d65()), dim);
  const auto told = read(
      fit_later(dim, kept(), d65(), {.drift = {}, .px_per_mm = {}, .surfaces = {surface}}), dim);
  EXPECT_GT(mamelon::de00(alone.value, truth), 1);
  EXPECT_LT(mamelon::de00(told.value, truth), 0.5);
  EXPECT_LT(told.sd()[0], 0.5 * alone.sd()[0]);

  Photo dark = exposed(first(), 0.6);
  dark.settings = fixed();
  EXPECT_THAT(refusal([&] {
                (void)fit_later(dark, kept(), d65(),
                                {.drift = {}, .px_per_mm = {}, .surfaces = {surface}});
              }),
              AllOf(HasSubstr("another one"), HasSubstr("tab 1")));
}

TEST(KeptFit, AColourThatNoToothHasIsTold) {
  const auto& s = scene("front_teeth_linear");
  const mamelon::BoxPx box = {s.teeth[0].point.x - 20, s.teeth[0].point.y - 20, 40, 40};
  Photo warm = later();
  for (std::size_t i = 2; i < warm.rgb.size(); i += 3) {
    warm.rgb[i] = static_cast<std::uint16_t>(warm.rgb[i] * 0.35);
  }
  const auto warnings = [&](const Photo& photo) {
    return read_box(photo, fit_later(photo, kept(), d65()), box, SurfaceKind::tooth, "t").warnings;
  };
  EXPECT_THAT(warnings(warm), Contains(HasSubstr("hardly any tooth has this colour")));
  EXPECT_TRUE(warnings(later()).empty());
}

TEST(KeptFit, OnlyAFitByACardAloneIsKept) {
  EXPECT_THROW((void)keep(fit_later(later(), kept(), d65())), ArgumentError);
  CardFit unfitted = by_card();
  unfitted.made_from.reset();
  EXPECT_THROW((void)keep(unfitted), ArgumentError);
  const KnownSurface surface{.name = "tab",
                             .box = {on_tooth().x, on_tooth().y, 20, 20},
                             .lab = Lab{72, 2, 16},
                             .reflectance = {}};
  mamelon::CardFitOptions options;
  options.surfaces = {surface};
  EXPECT_THROW((void)keep(fit_card(first(), demo::card("tooth20_frame"), d65(), options)),
               ArgumentError);
}

// A block as EXIF 2.32 lays it out, written by hand.
class Block {
 public:
  void number(std::uint32_t value, int bytes) {
    for (int i = 0; i < bytes; ++i) put(value >> (8 * i) & 0xFFU);
  }
  void entry(std::uint32_t tag, std::uint32_t type, std::uint32_t count, std::uint32_t value) {
    number(tag, 2);
    number(type, 2);
    number(count, 4);
    number(value, 4);
  }
  void text(const std::string& text) {
    for (const char c : text) put(static_cast<unsigned char>(c));
    put(0);
  }
  [[nodiscard]] const std::vector<std::byte>& bytes() const { return bytes_; }

 private:
  void put(std::uint32_t value) { bytes_.push_back(static_cast<std::byte>(value)); }
  std::vector<std::byte> bytes_;
};

Block exif_block(std::uint32_t denominator) {
  Block block;
  block.number('I' | 'I' << 8, 2);
  block.number(42, 2);
  block.number(8, 4);
  block.number(3, 2);  // at 8: three entries, 36 bytes, no next directory
  block.entry(0x010F, 2, 9, 50);
  block.entry(0x0110, 2, 13, 59);
  block.entry(0x8769, 4, 1, 72);
  block.number(0, 4);          // at 46
  block.text("Invented");      // at 50
  block.text("Invented One");  // at 59
  block.number(5, 2);          // at 72
  block.entry(0x829A, 5, 1, 138);
  block.entry(0x829D, 5, 1, 146);
  block.entry(0x8827, 3, 1, 200);
  block.entry(0x9003, 2, 20, 154);
  block.entry(0xA403, 3, 1, 1);
  block.number(0, 4);  // at 134
  block.number(1, 4);  // at 138
  block.number(denominator, 4);
  block.number(220, 4);  // at 146
  block.number(10, 4);
  block.text("2026:11:29 10:20:30");  // at 154
  return block;
}

TEST(CameraSettings, AreReadAsTheFileStatesThem) {
  const auto facts = mamelon::detail::read_exif(exif_block(125).bytes());
  ASSERT_TRUE(facts);
  const mamelon::CameraSettings& s = facts->settings;
  EXPECT_EQ(s.camera, mamelon::sha256_hex("Invented One").substr(0, 16));
  EXPECT_EQ(s.exposure_s, 1.0 / 125);
  EXPECT_EQ(s.f_number, 22);
  EXPECT_EQ(s.iso, 200);
  EXPECT_EQ(s.white_balance, mamelon::WhiteBalance::fixed);
  EXPECT_EQ(s.taken, "2026-11-29 10:20:30");
  // A statement that cannot be true is none, and spoils no other.
  const auto without = mamelon::detail::read_exif(exif_block(0).bytes());
  ASSERT_TRUE(without);
  EXPECT_FALSE(without->settings.exposure_s);
  EXPECT_EQ(without->settings.f_number, 22);
}

}  // namespace
