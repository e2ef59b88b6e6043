#pragma once
/// @file
/// A case: everything a person gives, in one value that owns it.

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "mamelon/card.h"
#include "mamelon/description.h"
#include "mamelon/match.h"
#include "mamelon/plan.h"
#include "mamelon/tabs.h"
#include "mamelon/zones.h"

namespace mamelon {

/// A file as it was given; a case's document names it by its digest.
class GivenFile {
 public:
  GivenFile() = default;
  explicit GivenFile(std::vector<std::byte> bytes);
  /// A file that is known by its digest alone: 64 lower-case hexadecimal digits, else
  /// ArgumentError.
  static GivenFile known_by(std::string_view digest);

  [[nodiscard]] const std::vector<std::byte>& bytes() const { return bytes_; }
  [[nodiscard]] const std::string& sha256() const { return sha256_; }
  friend bool operator==(const GivenFile&, const GivenFile&) = default;

 private:
  std::vector<std::byte> bytes_;
  std::string sha256_;
};
template <>
struct AsText<GivenFile> {
  static std::string write(const GivenFile& file) { return file.sha256(); }
  static GivenFile read(std::string_view text) { return GivenFile::known_by(text); }
};

/// A mask in a document: its place and size in the photo, then the lengths of its runs row by row,
/// outside and inside by turns: `x,y,width,height:3,2,4`.
template <>
struct AsText<Mask> {
  static std::string write(const Mask& mask);
  /// Throws ArgumentError for what is no such text.
  static Mask read(std::string_view text);
};

/// A photo as it was given.
struct CasePhoto {
  GivenFile file;
  /// What messages call it. It stays out of the case's file and of every report: names of photos
  /// and folders may be a patient's.
  std::string source = "the photo";
  bool camera_rendering = false;  ///< see `PhotoOptions`
};

/// A tab of the case's set that stands in the photo in the place of a card.
struct TabInPhoto {
  std::string tab;
  BoxPx box;  ///< within the tab
};

/// One tooth: where it is in the photo, or the readings of it. What is found of it is held together
/// by its place in the case, never by its name.
struct CaseTooth {
  std::string name{};  ///< the person's own; empty: its number, or its place in the case
  /// ISO 3950: 11–18 … 41–48 permanent, 51–55 … 81–85 deciduous; says whether it is anterior.
  std::optional<int> number{};
  ToothHint at{};                                  ///< a mask has the photo's size
  SurfaceKind kind = SurfaceKind::tooth;           ///< what is seen of it in the photo
  std::optional<double> cervical_direction_deg{};  ///< see `ZoneOptions`
  /// Instrument readings, repeats of equal label and zone to be averaged; where there are some the
  /// photo is not asked about this tooth.
  std::vector<Reading> readings{};
};

/// The prepared floor: a curve, a colour, or a region of a photo with the card in it.
struct CaseFloor {
  std::optional<Reflectance> curve{};
  std::optional<Reading> colour{};
  std::optional<CasePhoto> photo{};
  std::optional<BoxPx> box{};  ///< of `photo`: the floor alone
  std::optional<Mask> mask{};  ///< the same; of the photo's size
  double refractive_index = 1.54;
  bool specular_included = false;  ///< how tooth and floor were read
};

/// A light beside the target's own that counts in a plan's goal.
struct WeighedLight {
  Illuminant light;
  double weight = 0;  ///< where the target's own light weighs 1
};

/// What is to be placed in the prepared cavity.
struct Restoration {
  PasteSet pastes{};
  CaseFloor floor{};
  std::vector<double> depths_mm{};  ///< one, or one a reading of each tooth; in (0, 20]
  int max_layers = 2;
  double thickness_sd_mm = 0.15;
  bool role_order = true;
  Placing placing{};
  std::vector<WeighedLight> also_under{};
  /// Zone or label that each tooth is planned for; empty: the only one, else the middle third, of a
  /// posterior tooth the occlusal third.
  std::string zone{};
  bool every_zone = false;  ///< also the same pastes in every zone
};

/// Rows and columns read over a tooth in the place of its thirds.
struct GridSize {
  std::size_t rows = 0;
  std::size_t columns = 0;
};

/// Everything a person gives. Nothing is read from files while it is solved.
struct Case {
  std::string label{};
  Viewing viewing;
  std::optional<CasePhoto> photo{};
  std::optional<Card> card{};
  /// A blank white field by the same camera, lens and light: see `CardFitOptions`.
  std::optional<CasePhoto> blank_white{};
  /// Beside `card` they correct what it leaves near their colours; without it they stand for it.
  std::vector<TabInPhoto> tabs_in_photo{};
  std::optional<double> px_per_mm{};         ///< with `tabs_in_photo`
  std::optional<CorrectionMethod> method{};  ///< none: the best that card and photo allow
  /// Of the card: upper left, upper right, lower right, lower left; none: by its fiducials.
  std::optional<std::array<PointPx, 4>> corners_px{};
  std::vector<std::string> exclude{};  ///< names of patches to leave out
  double margin_mm = 0.4;
  std::optional<GridSize> grid{};
  bool posterior = false;  ///< teeth without a number are premolars or molars
  std::vector<CaseTooth> teeth{};
  std::optional<TabSet> tabs{};
  MatchOptions match{};
  std::optional<Restoration> restoration{};
  /// Number, name or place (`2`) of the tooth that stands first in what is shown; empty: the first.
  std::string headline{};
};

/// Whether a number is a tooth's in ISO 3950.
[[nodiscard]] bool is_tooth_number(int number);
/// Throws ArgumentError for a number that is no tooth's.
[[nodiscard]] ToothKind tooth_kind(int number);

/// The teeth of a table of readings: one a label where zones are stated; otherwise all of it is one
/// tooth, with the labels as its places.
[[nodiscard]] std::vector<CaseTooth> teeth_of(const std::vector<Reading>& readings);

/// Throws ArgumentError for a case that cannot be solved: nothing to read, a tooth with no photo
/// and no readings, a photo without card or tabs, a number that is no tooth's, two teeth of
/// one number or name, a headline that is no tooth, a depth missing or out of range, a floor that
/// is not one thing.
void check_case(const Case& given);

}  // namespace mamelon
