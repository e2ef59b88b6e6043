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
#include "mamelon/drawdown.h"
#include "mamelon/kept_fit.h"
#include "mamelon/match.h"
#include "mamelon/plan.h"
#include "mamelon/tabs.h"
#include "mamelon/zones.h"

namespace mamelon {

/// A file as it was given; a case's document names it by its digest.
class GivenFile {
 public:
  GivenFile() = default;
  /// Takes the bytes and computes their digest.
  explicit GivenFile(std::vector<std::byte> bytes);
  /// A file that is known by its digest alone: 64 lower-case hexadecimal digits, else
  /// ArgumentError.
  static GivenFile known_by(std::string_view digest);

  /// As given; empty where only the digest is known.
  [[nodiscard]] const std::vector<std::byte>& bytes() const { return bytes_; }
  /// 64 lower-case hexadecimal digits.
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

// How tabs are ranked and a tooth is pointed at, as a case's document holds them.
template <>
struct Fields<MatchOptions> {
  static constexpr const char* name = "MatchOptions";
  static constexpr auto all() {
    using T = MatchOptions;
    return FieldList{
        field("weights", &T::weights, "parametric factors of CIEDE2000"),
        field("draws", &T::draws, "of the low-discrepancy sample").range(64, 1048576),
        field("seed", &T::seed, "of that sample"),
        field("keep", &T::keep, "how many of the nearest tabs to report; 0 for all").quiet(),
        field("prior", &T::prior, "what is known of teeth before one is read").since(1).quiet(),
        field("threads", &T::threads, "0 for as many as the machine has").hidden()};
  }
};
template <>
struct Fields<ToothHint> {
  static constexpr const char* name = "ToothHint";
  static constexpr auto all() {
    using T = ToothHint;
    return FieldList{
        field("point", &T::point, "on the tooth, in pixels"),
        field("box", &T::box, "around the tooth, in pixels"),
        field("mask", &T::mask, "of the tooth"),
        field("rim", &T::rim, "its outline, drawn roughly").items(0, 1000).quiet(),
        field("inside", &T::inside, "places that belong to the tooth").items(0, 1000).quiet(),
        field("outside", &T::outside, "places that do not").items(0, 1000).quiet()};
  }
};

/// A photo as it was given.
struct CasePhoto {
  GivenFile file;
  /// What messages call it. It stays out of the case's file and of every report: names of photos
  /// and folders may be a patient's.
  std::string source = "the photo";
  bool camera_rendering = false;  ///< see `PhotoOptions`
  /// Taken in a mirror that shows the card too. Places are told in the photo as it is; zones lie in
  /// the flipped one.
  bool mirrored = false;
  bool polarised = false;  ///< taken through crossed polarisers
};
template <>
struct Fields<CasePhoto> {
  static constexpr const char* name = "CasePhoto";
  static constexpr auto all() {
    using T = CasePhoto;
    return FieldList{
        needed("file", &T::file, "the file as it was given"),
        field("source", &T::source, "what messages call it; stands in no file").hidden(),
        field("camera_rendering", &T::camera_rendering,
              "True: the photo carries a camera's own tones")
            .quiet(),
        field("mirrored", &T::mirrored, "True: taken in a mirror that shows the card too").quiet(),
        field("polarised", &T::polarised, "True: taken through crossed polarisers").quiet()};
  }
};

/// A tab of the case's set that stands in the photo in the place of a card.
struct TabInPhoto {
  std::string tab;
  BoxPx box;  ///< within the tab
};
template <>
struct Fields<TabInPhoto> {
  static constexpr const char* name = "TabInPhoto";
  static constexpr auto all() {
    using T = TabInPhoto;
    return FieldList{needed("tab", &T::tab, "name of the tab in the set").items(1, 200),
                     needed("box", &T::box, "within the tab, in pixels")};
  }
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
template <>
struct Fields<CaseTooth> {
  static constexpr const char* name = "CaseTooth";
  static constexpr auto all() {
    using T = CaseTooth;
    return FieldList{
        field("name", &T::name, "the person's own; empty: its number, or its place")
            .items(0, 200)
            .quiet(),
        field("number", &T::number, "in ISO 3950, such as 21").range(11, 85),
        field("kind", &T::kind, "what is seen of it in the photo").quiet(),
        field("at", &T::at, "where it is in the photo").quiet(),
        field("cervical_direction_deg", &T::cervical_direction_deg,
              "counter-clockwise from the photo's right; None: from the gum")
            .range(-360, 360),
        field("readings", &T::readings, "by an instrument; repeats are averaged").quiet()};
  }
};

/// The prepared floor: its reflectance, a colour, or a region of a photo with the card in it.
struct CaseFloor {
  std::optional<Reflectance> reflectance{};
  std::optional<Reading> colour{};
  std::optional<CasePhoto> photo{};
  std::optional<BoxPx> box{};  ///< of `photo`: the floor alone
  std::optional<Mask> mask{};  ///< the same; of the photo's size
  double refractive_index = 1.54;
  bool specular_included = false;  ///< how tooth and floor were read
};
template <>
struct Fields<CaseFloor> {
  static constexpr const char* name = "CaseFloor";
  static constexpr auto all() {
    using T = CaseFloor;
    return FieldList{
        field("reflectance", &T::reflectance, "as seen in air")
            .key("curve")
            .formerly("curve")
            .range(0, 2),
        field("colour", &T::colour, "a reading of it"),
        field("photo", &T::photo, "with the card in it"),
        field("box", &T::box, "of `photo`: the floor alone, in pixels"),
        field("mask", &T::mask, "the same"),
        field("refractive_index", &T::refractive_index, "1.54 is dentine").range(1.01, 2),
        field("specular_included", &T::specular_included,
              "True: tooth and floor were read with their gloss")
            .quiet()};
  }
};

/// A light beside the target's own that counts in a plan's goal.
struct WeighedLight {
  Illuminant light;
  double weight = 0;  ///< where the target's own light weighs 1
};
template <>
struct Fields<WeighedLight> {
  static constexpr const char* name = "WeighedLight";
  static WeighedLight blank() { return {mamelon::blank<Illuminant>(), 0}; }
  static constexpr auto all() {
    using T = WeighedLight;
    return FieldList{
        needed("light", &T::light, "name of the illuminant"),
        needed("weight", &T::weight, "where the target's own light weighs 1").range(0, 100)};
  }
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
  std::string after{};      ///< name of a shift of the pastes; empty: as measured
};
template <>
struct Fields<Restoration> {
  static constexpr const char* name = "Restoration";
  static constexpr auto all() {
    using T = Restoration;
    return FieldList{
        needed("pastes", &T::pastes, "what there is to place"),
        needed("floor", &T::floor, "what it is placed on"),
        needed("depths_mm", &T::depths_mm, "one, or one a reading of each tooth")
            .in("mm")
            .above(0, 20)
            .items(1, 2500),
        field("max_layers", &T::max_layers, "most pastes in a plan").range(1, 3),
        field("thickness_sd_mm", &T::thickness_sd_mm,
              "how well a layer's thickness is held by hand")
            .in("mm")
            .range(0, 2),
        field("role_order", &T::role_order,
              "True: from opaque at the floor to translucent outside"),
        field("placing", &T::placing, "how the cavity is filled and cured"),
        field("also_under", &T::also_under, "lights that count in the goal beside the target's own")
            .items(0, 12)
            .quiet(),
        field("zone", &T::zone, "zone or label planned for; empty: see above")
            .items(0, 200)
            .quiet(),
        field("every_zone", &T::every_zone, "True: also the same pastes in every zone").quiet(),
        field("after", &T::after, "name of a shift of the pastes; empty: as measured")
            .items(0, 200)
            .since(5)
            .quiet()};
  }
};

/// The lot that stands on a paste's syringe.
struct PasteLot {
  std::string paste;
  std::string lot;
};
template <>
struct Fields<PasteLot> {
  static constexpr const char* name = "PasteLot";
  static constexpr auto all() {
    using T = PasteLot;
    return FieldList{needed("paste", &T::paste, "name of the paste").items(1, 200),
                     needed("lot", &T::lot, "as it stands on the syringe").items(1, 200)};
  }
};

/// What is written on the chair's card beside the plan; no figure depends on it.
struct ChairNotes {
  std::string date{};           ///< of the treatment, as the person writes it
  std::string operator_code{};  ///< who places the pastes: a code rather than a name
  std::vector<PasteLot> lots{};
};
template <>
struct Fields<ChairNotes> {
  static constexpr const char* name = "ChairNotes";
  static constexpr auto all() {
    using T = ChairNotes;
    return FieldList{
        field("date", &T::date, "of the treatment, as the person writes it").items(0, 200),
        field("operator_code", &T::operator_code, "who places the pastes, as a code").items(0, 200),
        field("lots", &T::lots, "of the pastes in use").items(0, 100)};
  }
};

/// One layer as it was placed.
struct PlacedLayer {
  std::string paste;
  double thickness_mm = 0;
};
template <>
struct Fields<PlacedLayer> {
  static constexpr const char* name = "PlacedLayer";
  static constexpr auto all() {
    using T = PlacedLayer;
    return FieldList{needed("paste", &T::paste, "name of the paste").items(1, 200),
                     needed("thickness_mm", &T::thickness_mm, "of the layer")
                         .in("mm")
                         .above(0, limits::plan_depth_mm)};
  }
};

/// How far a restoration was when it was read.
enum class Stage {
  try_in,    ///< pastes laid on the tooth for a look, to be taken off again
  finished,  ///< the restoration itself
};
template <>
struct Words<Stage> {
  static constexpr const char* name = "Stage";
  static constexpr auto words = words_of("try_in", "finished");
};

/// A try-in or a finished restoration of the headline's tooth, as it was seen: in a photo with the
/// case's card in it, or by a reading of the zone that was planned for.
struct TryIn {
  std::string date{};  ///< as the person writes it
  Stage stage = Stage::try_in;
  bool cured = true;
  bool wet = true;  ///< tooth and paste, as saliva leaves them
  std::optional<CasePhoto> photo{};
  ToothHint at{};  ///< where the tooth is in `photo`
  std::optional<Reading> reading{};
  std::vector<PlacedLayer> layers{};  ///< as placed, from the floor outward; empty: not known
};
template <>
struct Fields<TryIn> {
  static constexpr const char* name = "TryIn";
  static constexpr auto all() {
    using T = TryIn;
    return FieldList{
        field("date", &T::date, "as the person writes it").items(0, 200),
        field("stage", &T::stage, "try_in or finished"),
        field("cured", &T::cured, "True: the paste was cured"),
        field("wet", &T::wet, "True: tooth and paste were wet, as saliva leaves them"),
        field("photo", &T::photo, "with the case's card in it"),
        field("at", &T::at, "where the tooth is in `photo`").quiet(),
        field("reading", &T::reading, "of the zone that was planned for"),
        field("layers", &T::layers, "as placed, from the floor outward; empty: not known")
            .items(0, limits::plan_layers)};
  }
};

/// Rows and columns read over a tooth in the place of its thirds.
struct GridSize {
  std::size_t rows = 0;
  std::size_t columns = 0;
};
template <>
struct Fields<GridSize> {
  static constexpr const char* name = "GridSize";
  static constexpr auto all() {
    using T = GridSize;
    return FieldList{needed("rows", &T::rows, "along the tooth").range(1, 50),
                     needed("columns", &T::columns, "across it").range(1, 50)};
  }
};

/// A light of the person's own: one that its name alone does not tell.
struct OwnLight {
  std::string name{};
  Power power;
};
template <>
struct Fields<OwnLight> {
  static constexpr const char* name = "OwnLight";
  static OwnLight blank() { return {.power = mamelon::blank<Illuminant>().power()}; }
  static constexpr auto all() {
    return FieldList{
        needed("name", &OwnLight::name, "by which viewings call it").items(1, 200),
        needed("power", &OwnLight::power, "relative, by wavelength").range(0, no_limit)};
  }
};

/// Everything a person gives. Nothing is read from files while it is solved.
struct Case {
  std::string label{};
  Viewing viewing;
  /// In a case's file those that stand within it, which holds each in the place of its name once it
  /// is read: see `own_lights`. Need not be given.
  std::vector<OwnLight> lights{};
  std::optional<CasePhoto> photo{};
  std::optional<Card> card{};
  /// A blank white field by the same camera, lens and light: see `CardFitOptions`.
  std::optional<CasePhoto> blank_white{};
  /// Beside `card` they correct what it leaves near their colours; without it they stand for it.
  std::vector<TabInPhoto> tabs_in_photo{};
  /// In the place of `card`: the fit of an earlier photo by the same camera and light.
  std::optional<KeptFit> kept_fit{};
  /// With `kept_fit`; none: see `LaterFitOptions`.
  std::optional<LightDrift> drift{};
  std::optional<double> px_per_mm{};         ///< with `tabs_in_photo` or `kept_fit`
  std::optional<CorrectionMethod> method{};  ///< none: the best that card and photo allow
  /// Of the card: upper left, upper right, lower right, lower left; none: by its fiducials.
  std::optional<std::array<PointPx, 4>> corners_px{};
  std::vector<std::string> exclude{};  ///< names of patches to leave out
  double margin_mm = 0.4;
  std::optional<GridSize> grid{};
  bool posterior = false;   ///< teeth without a number are premolars or molars
  bool from_above = false;  ///< see `ZoneOptions`; every tooth is a premolar or molar then
  std::vector<CaseTooth> teeth{};
  /// Of the instrument whose readings of teeth stand in the case; tabs are taken to be read by the
  /// same one. None: not known, taken to lose no light.
  std::optional<Aperture> aperture{};
  std::optional<TabSet> tabs{};
  MatchOptions match{};
  std::optional<Restoration> restoration{};
  /// Number, name or place (`2`) of the tooth that stands first in what is shown; empty: the first.
  std::string headline{};
  ChairNotes chair{};            ///< written on the chair's card
  std::vector<TryIn> try_ins{};  ///< what came of it, oldest first; `solve` passes over them
};
template <>
struct Fields<Case> {
  static constexpr const char* name = "Case";
  static constexpr const char* format = "mamelon-case";
  static constexpr const char* about =
      "Everything a person gives of a case; its photos stand beside it, named by their SHA-256";
  static Case blank() { return {.viewing = mamelon::blank<Viewing>()}; }
  static constexpr auto all() {
    using T = Case;
    return FieldList{
        field("label", &T::label, "the person's own name for it").items(0, 10000).quiet(),
        // Before all that may name them.
        field("lights", &T::lights, "of the person's own, which viewings in the file call by name")
            .items(0, 100)
            .since(6)
            .unique()
            .quiet(),
        needed("viewing", &T::viewing, "of every colour"),
        field("photo", &T::photo, "of the teeth"),
        field("card", &T::card, "that stands in the photos"),
        field("tabs_in_photo", &T::tabs_in_photo, "tabs in the place of the card")
            .items(0, 1000)
            .quiet(),
        field("kept_fit", &T::kept_fit, "of an earlier photo, in the place of a card").since(5),
        field("drift", &T::drift, "with `kept_fit`: how much may have changed since").since(5),
        field("px_per_mm", &T::px_per_mm,
              "with `tabs_in_photo` or `kept_fit`: of the photo, at the tooth")
            .range(0.5, 2000),
        field("blank_white", &T::blank_white,
              "a blank white field by the same camera, lens and light"),
        field("method", &T::method,
              "of colour correction; None: the best that card and photo allow"),
        field("corners_px", &T::corners_px, "of the card; None: by its fiducials"),
        field("exclude", &T::exclude, "names of patches to leave out").items(0, 2000).quiet(),
        field("margin_mm", &T::margin_mm, "rim of a tooth that is left out").in("mm").range(0, 3),
        field("grid", &T::grid, "read over a tooth in the place of its thirds"),
        field("posterior", &T::posterior, "True: teeth without a number are premolars or molars")
            .quiet(),
        field("from_above", &T::from_above, "True: the photo shows the teeth from above").quiet(),
        needed("teeth", &T::teeth, "to read, or with their readings").items(1, 10000),
        field("aperture", &T::aperture, "lit and seen by the instrument that read teeth and tabs")
            .since(5),
        field("tabs", &T::tabs, "to rank"), field("match", &T::match, "how they are ranked"),
        field("restoration", &T::restoration, "what is to be placed; None: nothing is planned"),
        field("headline", &T::headline, "number, name or place of the tooth that stands first")
            .items(0, 200)
            .quiet(),
        field("chair", &T::chair, "what is written on the chair's card").since(4).quiet(),
        field("try_ins", &T::try_ins, "what came of it, oldest first")
            .items(0, 20)
            .since(4)
            .quiet()};
  }
};

/// The lights within a case, those of its `lights` first, that their names do not tell: a document
/// has to hold them. Throws ArgumentError for two lights of one name, one of them the CIE's or not.
[[nodiscard]] std::vector<OwnLight> own_lights(const Case& given);
/// SHA-256 of everything that a case holds, its own lights too. Throws as `own_lights`.
[[nodiscard]] std::string digest_of(const Case& given);

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
