#include "capture/icc.h"

#include <algorithm>
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
    : engine_(std::make_unique<Engine>()), source_(source) {
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
      const double light = cmsEvalToneCurveFloat(engine_->curve(c), static_cast<float>(code));
      // Parameters rounded to 16 bits end a little beside 0 or 1; what is further off is damaged.
      constexpr double rounding = 0.01;
      if (!(light >= -rounding && light <= 1 + rounding)) {
        throw DataError(source_ +
                        ": a curve of the embedded ICC profile is malformed: it leaves the range "
                        "from 0 to 1");
      }
      out[c][i] = std::clamp(light, 0.0, 1.0);
    }
  }
  return out;
}

void IccProfile::to_wide_linear(const std::uint16_t* codes, std::uint16_t* light,
                                std::size_t count) const {
  cmsDoTransform(engine_->transform, codes, light, static_cast<cmsUInt32Number>(count));
}

namespace {

// A context that keeps the first error's text, closed at the end.
class Context {
 public:
  Context() : context_(cmsCreateContext(nullptr, &error_)) {
    cmsSetLogErrorHandlerTHR(context_, keep_error);
  }
  ~Context() { cmsDeleteContext(context_); }
  Context(const Context&) = delete;
  Context& operator=(const Context&) = delete;

  [[nodiscard]] cmsContext get() const { return context_; }
  // Throws when the engine refused something.
  void check(bool good) const {
    if (!good) throw CaptureError("the ICC profile cannot be written: " + error_);
  }

 private:
  std::string error_;
  cmsContext context_;
};

struct CloseProfile {
  void operator()(void* profile) const { cmsCloseProfile(profile); }
};
struct FreeCurve {
  void operator()(cmsToneCurve* curve) const { cmsFreeToneCurve(curve); }
};
struct FreeText {
  void operator()(cmsMLU* text) const { cmsMLUfree(text); }
};
struct FreePipeline {
  void operator()(cmsPipeline* pipeline) const { cmsPipelineFree(pipeline); }
};
struct DeleteTransform {
  void operator()(void* transform) const { cmsDeleteTransform(transform); }
};
using ProfileHandle = std::unique_ptr<void, CloseProfile>;
using CurveHandle = std::unique_ptr<cmsToneCurve, FreeCurve>;

void write_text(const Context& context, cmsHPROFILE profile, cmsTagSignature tag,
                const std::string& text) {
  const std::unique_ptr<cmsMLU, FreeText> words(cmsMLUalloc(context.get(), 1));
  context.check(cmsMLUsetASCII(words.get(), "en", "US", text.c_str()) != 0);
  context.check(cmsWriteTag(profile, tag, words.get()) != 0);
}

void write_matrix(const Context& context, cmsHPROFILE profile, const Mat3& matrix,
                  const std::array<CurveHandle, 3>& curves) {
  constexpr std::array<cmsTagSignature, 3> columns = {cmsSigRedColorantTag, cmsSigGreenColorantTag,
                                                      cmsSigBlueColorantTag};
  cmsSetPCS(profile, cmsSigXYZData);
  for (std::size_t c = 0; c < 3; ++c) {
    const cmsCIEXYZ column = {matrix[0][c], matrix[1][c], matrix[2][c]};
    context.check(cmsWriteTag(profile, columns.at(c), &column) != 0);
    context.check(cmsWriteTag(profile, curve_tags.at(c), curves.at(c).get()) != 0);
  }
}

void write_table(const Context& context, cmsHPROFILE profile, const ProfileContent& content,
                 const std::array<CurveHandle, 3>& curves) {
  cmsSetPCS(profile, cmsSigLabData);
  const std::unique_ptr<cmsPipeline, FreePipeline> steps(cmsPipelineAlloc(context.get(), 3, 3));
  const std::array<cmsToneCurve*, 3> shapes = {curves[0].get(), curves[1].get(), curves[2].get()};
  cmsStage* shape = cmsStageAllocToneCurves(context.get(), 3, shapes.data());
  cmsStage* table =
      cmsStageAllocCLut16bit(context.get(), static_cast<cmsUInt32Number>(content.table_points), 3,
                             3, content.table.data());
  cmsStage* straight = cmsStageAllocToneCurves(context.get(), 3, nullptr);
  for (cmsStage* step : {shape, table, straight}) {
    context.check(step != nullptr && cmsPipelineInsertStage(steps.get(), cmsAT_END, step) != 0);
  }
  context.check(cmsWriteTag(profile, cmsSigAToB0Tag, steps.get()) != 0);
  context.check(cmsLinkTag(profile, cmsSigAToB1Tag, cmsSigAToB0Tag) != 0);
}

}  // namespace

std::vector<std::uint8_t> write_profile(const ProfileContent& content) {
  const Context context;
  const ProfileHandle profile(cmsCreateProfilePlaceholder(context.get()));
  context.check(profile != nullptr);
  cmsSetProfileVersion(profile.get(), 4.3);
  cmsSetDeviceClass(profile.get(), cmsSigInputClass);
  cmsSetColorSpace(profile.get(), cmsSigRgbData);
  cmsSetHeaderRenderingIntent(profile.get(), INTENT_RELATIVE_COLORIMETRIC);
  write_text(context, profile.get(), cmsSigProfileDescriptionTag, content.description);
  write_text(context, profile.get(), cmsSigCopyrightTag, "No rights reserved");
  context.check(cmsWriteTag(profile.get(), cmsSigMediaWhitePointTag, cmsD50_XYZ()) != 0);
  std::array<cmsCIEXYZ, 3> adaptation{};
  for (std::size_t i = 0; i < 3; ++i) {
    adaptation.at(i) = {content.adaptation[i][0], content.adaptation[i][1],
                        content.adaptation[i][2]};
  }
  context.check(cmsWriteTag(profile.get(), cmsSigChromaticAdaptationTag, adaptation.data()) != 0);
  std::array<CurveHandle, 3> curves;
  for (std::size_t c = 0; c < 3; ++c) {
    std::vector<std::uint16_t> values;
    for (const double value : content.curves[c]) {
      values.push_back(
          static_cast<std::uint16_t>(std::lround(65535 * std::clamp(value, 0.0, 1.0))));
    }
    curves[c].reset(cmsBuildTabulatedToneCurve16(
        context.get(), static_cast<cmsUInt32Number>(values.size()), values.data()));
    context.check(curves[c] != nullptr);
  }
  if (content.matrix) {
    write_matrix(context, profile.get(), *content.matrix, curves);
  } else {
    write_table(context, profile.get(), content, curves);
  }
  cmsUInt32Number size = 0;
  context.check(cmsSaveProfileToMem(profile.get(), nullptr, &size) != 0);
  std::vector<std::uint8_t> bytes(size);
  context.check(cmsSaveProfileToMem(profile.get(), bytes.data(), &size) != 0);
  // The engine dates profiles by the clock; the same fit gives the same bytes, of 1 January 2026.
  constexpr std::array<std::uint8_t, 12> date = {0x07, 0xEA, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0};
  constexpr std::ptrdiff_t date_at = 24;
  std::copy(date.begin(), date.end(), bytes.begin() + date_at);
  return bytes;
}

std::vector<Lab> lab_through_profile(std::span<const std::uint8_t> bytes,
                                     std::span<const Vec3> codes) {
  const Context context;
  const ProfileHandle profile(cmsOpenProfileFromMemTHR(context.get(), bytes.data(),
                                                       static_cast<cmsUInt32Number>(bytes.size())));
  context.check(profile != nullptr);
  const ProfileHandle lab(cmsCreateLab4ProfileTHR(context.get(), nullptr));
  const std::unique_ptr<void, DeleteTransform> transform(
      cmsCreateTransformTHR(context.get(), profile.get(), TYPE_RGB_DBL, lab.get(), TYPE_Lab_DBL,
                            INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOCACHE | cmsFLAGS_NOOPTIMIZE));
  context.check(transform != nullptr);
  std::vector<Vec3> out(codes.size());
  cmsDoTransform(transform.get(), codes.data(), out.data(),
                 static_cast<cmsUInt32Number>(codes.size()));
  std::vector<Lab> colours;
  for (const Vec3& each : out) colours.push_back({each[0], each[1], each[2]});
  return colours;
}

}  // namespace mamelon::detail
