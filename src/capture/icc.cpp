#include "capture/icc.h"

#include <cmath>

#include <lcms2.h>

#include "mamelon/error.h"

namespace mamelon::detail {
namespace {

void keep_error(cmsContext context, cmsUInt32Number, const char* text) {
  auto* kept = static_cast<std::string*>(cmsGetContextUserData(context));
  if (kept != nullptr && kept->empty()) *kept = text;
}

constexpr std::array<cmsTagSignature, 3> curve_tags = {cmsSigRedTRCTag, cmsSigGreenTRCTag,
                                                       cmsSigBlueTRCTag};

std::string describe(cmsHPROFILE profile) {
  std::array<char, 256> text{};
  cmsGetProfileInfoASCII(profile, cmsInfoDescription, "en", "US", text.data(),
                         static_cast<cmsUInt32Number>(text.size() - 1));
  return text.data();
}

}  // namespace

struct IccProfile::Engine {
  std::string error;
  cmsContext context = nullptr;
  cmsHPROFILE profile = nullptr;
  cmsHTRANSFORM transform = nullptr;

  ~Engine() {
    if (transform != nullptr) cmsDeleteTransform(transform);
    if (profile != nullptr) cmsCloseProfile(profile);
    if (context != nullptr) cmsDeleteContext(context);
  }

  [[nodiscard]] const cmsToneCurve* curve(std::size_t channel) const {
    return static_cast<const cmsToneCurve*>(cmsReadTag(profile, curve_tags.at(channel)));
  }

  // ROMM primaries with straight curves (ISO 22028-2; primaries of ANSI/I3A IT10.7666).
  void make_transform() {
    const cmsCIExyY white = {0.3457, 0.3585, 1.0};
    const cmsCIExyYTRIPLE primaries = {
        {0.7347, 0.2653, 1.0}, {0.1596, 0.8404, 1.0}, {0.0366, 0.0001, 1.0}};
    cmsToneCurve* straight = cmsBuildGamma(context, 1.0);
    const std::array<cmsToneCurve*, 3> three = {straight, straight, straight};
    cmsHPROFILE wide = cmsCreateRGBProfileTHR(context, &white, &primaries, three.data());
    if (wide != nullptr) {
      transform = cmsCreateTransformTHR(context, profile, TYPE_RGB_16, wide, TYPE_RGB_16,
                                        INTENT_RELATIVE_COLORIMETRIC,
                                        cmsFLAGS_NOCACHE | cmsFLAGS_HIGHRESPRECALC);
      cmsCloseProfile(wide);
    }
    cmsFreeToneCurve(straight);
  }
};

IccProfile::IccProfile(std::span<const std::uint8_t> bytes, const std::string& source)
    : engine_(std::make_unique<Engine>()) {
  Engine& e = *engine_;
  e.context = cmsCreateContext(nullptr, &e.error);
  cmsSetLogErrorHandlerTHR(e.context, keep_error);
  e.profile =
      cmsOpenProfileFromMemTHR(e.context, bytes.data(), static_cast<cmsUInt32Number>(bytes.size()));
  if (e.profile == nullptr) {
    throw DataError(source + ": the embedded ICC profile is malformed: " + e.error);
  }
  if (cmsGetColorSpace(e.profile) != cmsSigRgbData) {
    throw CaptureError(source + ": the embedded ICC profile is not of RGB data");
  }
  description_ = describe(e.profile);
  if (cmsIsTag(e.profile, cmsSigAToB0Tag) == 0 && cmsIsMatrixShaper(e.profile) != 0) {
    is_matrix_ = true;
    for (std::size_t c = 0; c < 3; ++c) {
      if (e.curve(c) == nullptr) {
        throw DataError(source + ": a curve of the embedded ICC profile is malformed: " + e.error);
      }
    }
    return;
  }
  e.make_transform();
  if (e.transform == nullptr) {
    throw DataError(source + ": the embedded ICC profile cannot be used: " + e.error);
  }
}

IccProfile::~IccProfile() = default;

bool IccProfile::is_linear() const {
  if (!is_matrix_) return false;
  constexpr int steps = 64;
  for (std::size_t c = 0; c < 3; ++c) {
    for (int i = 0; i <= steps; ++i) {
      const float code = static_cast<float>(i) / steps;
      if (std::abs(cmsEvalToneCurveFloat(engine_->curve(c), code) - code) > 5e-4F) return false;
    }
  }
  return true;
}

std::array<std::vector<double>, 3> IccProfile::curves(std::size_t levels) const {
  std::array<std::vector<double>, 3> out;
  for (std::size_t c = 0; c < 3; ++c) {
    out[c].resize(levels);
    for (std::size_t i = 0; i < levels; ++i) {
      const double code = static_cast<double>(i) / static_cast<double>(levels - 1);
      out[c][i] = cmsEvalToneCurveFloat(engine_->curve(c), static_cast<float>(code));
    }
  }
  return out;
}

void IccProfile::to_wide_linear(const std::uint16_t* codes, std::uint16_t* light,
                                std::size_t count) const {
  cmsDoTransform(engine_->transform, codes, light, static_cast<cmsUInt32Number>(count));
}

}  // namespace mamelon::detail
