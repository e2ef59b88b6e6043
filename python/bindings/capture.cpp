// Photos, cards and tooth zones.

#include <pybind11/stl/filesystem.h>

#include "mamelon/card_history.h"
#include "mamelon/discs.h"
#include "mamelon/kept_fit.h"
#include "mamelon/layout.h"

#include "bindings.h"
#include "define.h"
#include "photos.h"

namespace mamelon::python {

namespace {

Shape photo_shape(const Photo& photo) {
  return {photo.height, photo.width, 3};
}

void bind_photo(py::module_& m) {
  bind_value<CameraSettings>(m, R"(How a photo was taken, as its file says; None where it does not.

>>> CameraSettings(exposure_s=0.008, f_number=22, iso=200).f_number
22.0
)");
  ValueClass<Photo> cls(m, "Photo", R"(A decoded photo in linear light, upright.

`rgb` is (height, width, 3) of uint16, 0–65535 proportional to light, in the file's own primaries.

>>> Photo(np.zeros((4, 6, 3), dtype=np.uint16), bits=16)
Photo(6×4, 16 bit, linear)
)");
  cls.def(
      py::init([](const py::object& rgb, const py::object& clip_level, const py::object& bits,
                  const py::object& encoding, const py::object& profile_description,
                  const py::object& warnings, const py::object& provenance,
                  const py::object& settings) {
        const auto pixels = integers<std::uint16_t>(rgb, "uint16", "Photo.rgb", {0, 0, 3});
        auto photo = std::make_shared<Photo>();
        photo->height = pixels.shape[0];
        photo->width = pixels.shape[1];
        photo->rgb.assign(pixels.data, pixels.data + 3 * photo->width * photo->height);
        const auto levels =
            Convert<std::array<std::uint16_t, 3>>::from_python(clip_level, "Photo.clip_level");
        std::copy(levels.begin(), levels.end(), photo->clip_level);
        photo->bits = Convert<int>::from_python(bits, "Photo.bits");
        photo->encoding = Convert<Encoding>::from_python(encoding, "Photo.encoding");
        photo->profile_description =
            Convert<std::string>::from_python(profile_description, "Photo.profile_description");
        photo->warnings =
            Convert<std::vector<std::string>>::from_python(warnings, "Photo.warnings");
        if (!provenance.is_none())
          photo->provenance = Convert<Provenance>::from_python(provenance, "Photo.provenance");
        if (!settings.is_none())
          photo->settings = Convert<CameraSettings>::from_python(settings, "Photo.settings");
        return photo;
      }),
      py::arg("rgb"), py::arg("clip_level") = py::make_tuple(65535, 65535, 65535),
      py::arg("bits") = 16, py::arg("encoding") = "linear", py::arg("profile_description") = "",
      py::arg("warnings") = py::tuple(), py::arg("provenance") = py::none(),
      py::arg("settings") = py::none(),
      "__init__(self, rgb: ArrayLike, clip_level: Sequence[int] = ..., bits: int = ..., encoding: "
      "_Encoding = ..., profile_description: str = ..., warnings: Sequence[str] = ..., "
      "provenance: Provenance | None = ..., settings: CameraSettings | None = ...) -> None");
  cls.def_property_readonly(
      "rgb",
      [](const std::shared_ptr<Photo>& self) {
        // Made when first asked for and kept: nothing else reads `rgb` beside `codes`.
        if (self->rgb.empty()) self->rgb = expanded(*self).rgb;
        return viewed_array(self->rgb.data(), "H", 2, photo_shape(*self), self);
      },
      "NDArray[np.uint16]: (height, width, 3), proportional to light, read-only");
  add_property_of(cls, "width", &Photo::width, "in pixels");
  add_property_of(cls, "height", &Photo::height, "in pixels");
  cls.def_property_readonly(
      "clip_level",
      [](const Photo& p) {
        return py::make_tuple(p.clip_level[0], p.clip_level[1], p.clip_level[2]);
      },
      "tuple[int, int, int]: values at or above were at the top of the file's range");
  add_property_of(cls, "bits", &Photo::bits, "of the file");
  add_property_of(cls, "encoding", &Photo::encoding, "how the file's numbers relate to light");
  add_property_of(cls, "profile_description", &Photo::profile_description,
                  "of the embedded ICC profile; empty without one");
  add_property_of(cls, "warnings", &Photo::warnings, "what to know before using it");
  add_property_of(cls, "provenance", &Photo::provenance, "how it was made");
  add_property_of(cls, "settings", &Photo::settings, "how it was taken, as its file says");
  pickle_by(cls, {"rgb", "clip_level", "bits", "encoding", "profile_description", "warnings",
                  "provenance", "settings"});
  cls.def("__repr__", [](const Photo& self) { return Convert<Photo>::repr(self); });
  bind_common(cls, "Photo");

  define_long(
      m, "read_photo",
      [](const std::filesystem::path& file, bool camera_rendering, bool mirrored) {
        return std::make_shared<Photo>(read_photo(file, {camera_rendering, mirrored}));
      },
      py::arg("file"), py::kw_only(), py::arg("camera_rendering") = false,
      py::arg("mirrored") = false,
      R"(Decodes JPEG, PNG or TIFF with its ICC profile and EXIF orientation into linear light, HEIC, WebP,
camera raw and DNG where mamelon was built with libheif, libwebp and LibRaw.

`camera_rendering` treats an sRGB or untagged file as a camera's own rendering, linearised by the
card's neutrals; `mirrored` flips a photo that was taken in a mirror. Raises IoError (cannot read), DataError (not such a file, truncated, corrupt) or
CaptureError (grey, CMYK, too small or too large).

>>> read_photo("no such file.jpg")
Traceback (most recent call last):
    ...
mamelon.IoError: ...
)");
  define_long(
      m, "decode_photo",
      [](const Bytes& data, const std::string& source, bool camera_rendering, bool mirrored) {
        return std::make_shared<Photo>(
            decode_photo(data.view(), source, {camera_rendering, mirrored}));
      },
      py::arg("data"), py::arg("source"), py::kw_only(), py::arg("camera_rendering") = false,
      py::arg("mirrored") = false, R"(The same of a file's bytes; `source` names it in messages.

>>> decode_photo(b"plain text", "note.jpg")
Traceback (most recent call last):
    ...
mamelon.DataError: ...
)");
}

void bind_card(py::module_& m) {
  bind_numbers<PointMm>(m, R"(A point on the card in mm, from its upper left corner.

>>> PointMm(2, 3).y
3.0
)");
  bind_numbers<PointPx>(m, R"(A point in the photo in pixels, from its upper left corner.

>>> PointPx(20, 30).x
20.0
)");
  bind_numbers<BoxPx>(m, R"(A rectangle of the photo in pixels.

>>> BoxPx(10, 20, 300, 400).width
300.0
)");
  bind_value<Patch>(
      m, R"(One patch of known colour; position of its upper left corner and size on the card.

>>> Patch("grey", 1, 2, 3, 3, neutral=True, lab=Lab(60, 0, 0)).neutral
True
)");
  bind_value<Fiducial>(m, R"(A square fiducial of the 4×4 dictionary of 50.

>>> Fiducial(id=0, x_mm=1, y_mm=1, size_mm=4).size_mm
4.0
)");
  bind_value<WhiteArea>(m, R"(A rectangle of bare white base on the card, for the light field.

>>> WhiteArea(0, 0, 5, 2).width_mm
5.0
)");
  bind_value<DesignedError>(
      m, R"(CIEDE2000 of surfaces of one kind read by a card under one class of light.

>>> DesignedError("daylight", 0.1, 0.3).de00_p95
0.3
)");
  bind_value<CardDesign>(m, R"(How exact the response estimate can be with a card, by simulation.

>>> CardDesign((DesignedError("all", 0.1, 0.3),), 0.4).variance_factor
0.4
)");
  bind_value<Card>(m, "A reference card: patches, fiducials and white areas in mm.");
  bind_value<KeptPatch>(m, "A patch of the card as a photo showed it.");
  bind_value<KeptWhite>(m, "A white place in a photo.");
  bind_value<KeptFit>(m, R"(What a fit by a card rests on, kept for later photos without a card.

`to_json` writes it, `read_kept_fit` reads it; `CardFit.keep` makes one.)");
  bind_value<LightDrift>(
      m,
      R"(How much may have changed since the card was photographed: sd of logarithms.

>>> LightDrift().light
0.07
)");
  bind_value<CardLayout>(m, "A card to print, mount patches in and measure.");
  bind_value<Signal>(m, R"(The mean light of a surface in the photo.

>>> Signal([0.4, 0.3, 0.2], PointPx(10, 20), kind="tab").kind
'tab'
)");
  bind_value<JointLab>(m, "Colours whose errors go together.");
  bind_value<LabDifference>(m, "How two surfaces in one photo differ in CIELAB.");
  bind_value<KnownSurface>(
      m, R"(A surface of known colour in the photo, such as a tab of the user's own set.

>>> KnownSurface("oat", BoxPx(10, 20, 30, 40), lab=Lab(72, 1, 17)).box.width
30.0
)");
  define_long(
      m, "design_card",
      [](const std::shared_ptr<Card>& card, const Viewing& viewing) {
        return design_card(*card, viewing);
      },
      py::arg("card"), py::arg("viewing"),
      R"(Simulates the response estimate with this card before the measured cameras, each left out of the
prior in turn, and their lights. Raises ArgumentError unless every patch has a reflectance.)");
  bind_value<CardVisit>(m, "The card in one photo of a history.");
  bind_value<PatchHistory>(m, "What became of one patch of a card over time.");
  bind_value<CardHistory>(m, "The history of a card.");
  define_long(
      m, "card_history",
      [](const std::vector<CardVisit>& visits, const Viewing& viewing, double false_alarm_rate) {
        return card_history(visits, viewing, false_alarm_rate);
      },
      py::arg("visits"), py::arg("viewing"), py::kw_only(), py::arg("false_alarm_rate") = 0.05,
      R"(Which patches of a card have changed: each is read by the others on every visit, and a test with
Holm's control over the whole card says which residuals move more over time than the others'
scatter explains. Photos should be by one camera in one light. Raises ArgumentError for fewer than
two visits, days that are not stated or all one, or cards that are not one, and CaptureError where
fewer than six patches can be compared.)");
  bind_value<SuggestedPatch>(m, "A patch that would let a card tell more.");
  define_long(
      m, "suggest_patches",
      [](const std::shared_ptr<Card>& card, const Viewing& viewing, std::size_t count) {
        return suggest_patches(*card, viewing, count);
      },
      py::arg("card"), py::arg("viewing"), py::arg("count"),
      R"(Which patches a card gains most by, 1 to 10 of them one after the other: of white paint with one
pigment that absorbs up to an edge or in a band, each the one that leaves the least mean square
ΔE00 over kinds of surface and classes of light, before cameras that the prior has not seen.
Takes some seconds a patch. Raises ArgumentError unless every patch has a reflectance.)");
  define(
      m, "card_layout",
      [](const std::string& name, std::size_t patches, double patch_mm, double fiducial_mm,
         double bar_mm, double opening_mm, const Viewing& viewing) {
        return card_layout({.name = name,
                            .patches = patches,
                            .patch_mm = patch_mm,
                            .fiducial_mm = fiducial_mm,
                            .bar_mm = bar_mm,
                            .opening_mm = opening_mm,
                            .viewing = viewing});
      },
      py::kw_only(), py::arg("name") = "card", py::arg("patches") = 16, py::arg("patch_mm") = 4.0,
      py::arg("fiducial_mm") = 4.0, py::arg("bar_mm") = 12.0, py::arg("opening_mm") = 42.0,
      py::arg("viewing") = "D65/2",
      R"(Two rows of windows to mount patches in between four fiducials, white strips and white bars.

Its patches have no colour before they are measured. Raises ArgumentError for a request outside its
ranges.

>>> len(card_layout(patches=12).card.patches)
12
)");
  define(m, "layout_svg", layout_svg, py::arg("layout"),
         R"(The layout as an SVG drawing in true size, with a scale to check the print by.)");
  bind_value<PatchFit>(m, R"(What became of one patch in a fit.

>>> PatchFit("grey", used=False, reason="clipped").reason
'clipped'
)");
  define(
      m, "patch_lab", patch_lab, py::arg("card"), py::arg("patch"), py::arg("viewing"),
      R"(Reference colour of a patch under `viewing`. Raises ArgumentError when the patch has a Lab only and
`viewing` is not the card's.)");
}

template <class... M>
py::tuple tuple_of(const M&... values) {
  return py::make_tuple(Convert<M>::to_python(values)...);
}

void bind_card_fit(py::module_& m) {
  using T = FittedCard;
  ValueClass<T> cls(m, "CardFit", "The card found in a photo and the fitted mapping to CIELAB.");
  const auto property = [&](const char* name, auto CardFit::*member, const char* doc) {
    add_property_of(
        cls, name, [member](const T& self) { return self.fit.*member; }, doc);
  };
  property("mm_to_px", &CardFit::mm_to_px, "3×3 homography, card mm to pixels");
  property("card_width_mm", &CardFit::card_width_mm, "width of the card");
  property("card_height_mm", &CardFit::card_height_mm, "height of the card");
  property("card_parts", &CardFit::card_parts, "what of the card cannot hold a tooth");
  property("reprojection_rms_px", &CardFit::reprojection_rms_px, "of the fiducials' corners");
  property("edge_blur_mm", &CardFit::edge_blur_mm, "width of their edges; 0: not known");
  property("patches", &CardFit::patches, "what became of each patch");
  property("viewing", &CardFit::viewing, "of the fitted colours");
  property("loo_de00_median", &CardFit::loo_de00_median, "median leave-one-out ΔE00");
  property("loo_de00_max", &CardFit::loo_de00_max, "largest leave-one-out ΔE00");
  property("loo_de00_near", &CardFit::loo_de00_near,
           "root mean square leave-one-out ΔE00, patches near tooth colours weighing most");
  property("later", &CardFit::later, "whether by a kept fit, without a card in the photo");
  property("photo_digest", &CardFit::photo_digest, "of the photo that it belongs to");
  property("warnings", &CardFit::warnings, "what to know before using it");
  property("provenance", &CardFit::provenance, "how it was made");
  add_property_of(
      cls, "method", [](const T& self) { return self.fit.correction->method(); },
      "of the correction");
  cls.def(
      "lab",
      [](const T& self, const py::object& rgb, const py::object& rgb_cov, const py::object& at,
         const py::object& kind) {
        return self.fit.correction->lab(Signal{Convert<Vec3>::from_python(rgb, "rgb"),
                                               Convert<Mat3>::from_python(rgb_cov, "rgb_cov"),
                                               Convert<PointPx>::from_python(at, "at"),
                                               Convert<SurfaceKind>::from_python(kind, "kind")});
      },
      py::arg("rgb"), py::arg("rgb_cov"), py::arg("at"), py::kw_only(), py::arg("kind") = "tooth",
      R"(lab(self, rgb: ArrayLike, rgb_cov: ArrayLike, at: PointPx | _Numbers, *, kind: _SurfaceKind = ...) -> Measured

CIELAB with covariance of the mean linear colour `rgb` (0–1 of full scale) found around `at` of a
surface of that kind.)");
  cls.def(
      "light",
      [](const T& self, const py::object& at) {
        const PointPx place = Convert<PointPx>::from_python(at, "at");
        return py::make_tuple(self.fit.correction->light(place),
                              self.fit.correction->light_log_sd(place));
      },
      py::arg("at"),
      R"(light(self, at: PointPx | _Numbers) -> tuple[float, float]

Light at a place over the light at the card's centre, and the standard deviation of its logarithm.)");
  cls.def(
      "keep", [](const T& self) { return std::make_shared<KeptFit>(keep(self.fit)); },
      R"(keep(self) -> KeptFit

What the fit was made from, for `fit_later`. Raises ArgumentError for a fit to tabs in the photo.)");
  cls.def("__reduce__", [m](const T& v) {
    const auto by = [&m](const char* name, const auto&... arguments) {
      return py::make_tuple(m.attr(name), tuple_of(arguments...));
    };
    if (v.kept) {
      const LaterFitOptions& later = v.later_options;
      return by("_fit_later_again", v.photo, v.kept, v.viewing, later.drift, later.px_per_mm,
                later.surfaces);
    }
    if (!v.card) {
      return by("fit_surfaces", v.photo, v.surfaces, v.viewing, v.surface_options.px_per_mm);
    }
    const CardFitOptions& fitting = v.options;
    return by("_fit_card_again", v.photo, v.card, v.viewing, fitting.method, fitting.corners_px,
              fitting.exclude, fitting.surfaces, fitting.blank_white);
  });
  cls.def("__repr__", [](const T& self) { return Convert<T>::repr(self); });
  bind_common(cls, "CardFit");

  const auto fit = [](const std::shared_ptr<Photo>& photo, const std::shared_ptr<Card>& card,
                      const Viewing& viewing, std::optional<CorrectionMethod> method,
                      const std::optional<std::array<PointPx, 4>>& corners_px,
                      const std::vector<std::string>& exclude,
                      const std::vector<KnownSurface>& surfaces,
                      const std::shared_ptr<const Photo>& blank_white) {
    const CardFitOptions options{method, corners_px, exclude, surfaces, blank_white};
    return std::make_shared<T>(
        T{fit_card(*photo, *card, viewing, options), photo, card, viewing, options});
  };
  define_long(m, "_fit_card_again", fit, py::arg("photo"), py::arg("card"), py::arg("viewing"),
              py::arg("method"), py::arg("corners_px"), py::arg("exclude"), py::arg("surfaces"),
              py::arg("blank_white"), "Restores a pickled fit.");
  define_long(
      m, "fit_card", fit, py::arg("photo"), py::arg("card"), py::arg("viewing"), py::kw_only(),
      py::arg("method") = py::none(), py::arg("corners_px") = py::none(),
      py::arg("exclude") = py::tuple(), py::arg("surfaces") = py::tuple(),
      py::arg("blank_white") = py::none(),
      R"(Finds the card by its fiducials, reads its patches, corrects uneven light and fits the correction.

`method` None takes the best that card and photo allow; `corners_px` (upper left, upper right, lower
right, lower left) replaces the fiducials; `exclude` names patches to leave out; `surfaces` are
measured tabs in the same photo, which correct what the card leaves near their colours; `blank_white`
is a photo of a blank white field that tells how uneven the light is. Raises CaptureError when the card is missing, cut off, mirrored, does not agree with its definition, or too few patches
can be used. A pickled fit holds the photo and the card and is fitted again when loaded.)");
  const auto later = [](const std::shared_ptr<Photo>& photo, const std::shared_ptr<KeptFit>& kept,
                        const Viewing& viewing, const std::optional<LightDrift>& drift,
                        std::optional<double> px_per_mm,
                        const std::vector<KnownSurface>& surfaces) {
    const LaterFitOptions options{drift, px_per_mm, surfaces};
    return std::make_shared<T>(T{.fit = fit_later(*photo, *kept, viewing, options),
                                 .photo = photo,
                                 .viewing = viewing,
                                 .kept = kept,
                                 .later_options = options});
  };
  define_long(m, "_fit_later_again", later, py::arg("photo"), py::arg("kept"), py::arg("viewing"),
              py::arg("drift"), py::arg("px_per_mm"), py::arg("surfaces"),
              "Restores a pickled fit.");
  define_long(
      m, "fit_later", later, py::arg("photo"), py::arg("kept"), py::arg("viewing"), py::kw_only(),
      py::arg("drift") = py::none(), py::arg("px_per_mm") = py::none(),
      py::arg("surfaces") = py::tuple(),
      R"(The correction of a photo without a card by the fit that was kept of an earlier one of the same
session, camera and light.

The interval grows by `drift`; None takes its defaults, doubled where a file does not say how it was
taken. `px_per_mm` None takes the scale of the card's photo; `surfaces` of known colour in the photo
take off what has changed. Raises CaptureError where the photo does not belong to the fit: another
camera, exposure, balance, profile or size, or surfaces that read otherwise than drift explains.)");
  define_long(
      m, "fit_surfaces",
      [](const std::shared_ptr<Photo>& photo, const std::vector<KnownSurface>& surfaces,
         const Viewing& viewing, std::optional<double> px_per_mm) {
        return std::make_shared<T>(T{.fit = fit_surfaces(*photo, surfaces, viewing, {px_per_mm}),
                                     .photo = photo,
                                     .viewing = viewing,
                                     .surfaces = surfaces,
                                     .surface_options = {px_per_mm}});
      },
      py::arg("photo"), py::arg("surfaces"), py::arg("viewing"), py::arg("px_per_mm") = py::none(),
      R"(The correction without a card, from surfaces of known colour in the photo: tabs beside the tooth.

`px_per_mm` None takes the boxes to be drawn around the middle half of tabs 8.5 mm wide. Raises
ArgumentError for surfaces without a colour or boxes outside the photo and CaptureError when none
can be used or they contradict each other.)");
  define(
      m, "box_signal",
      [](const std::shared_ptr<Photo>& photo, const BoxPx& box, SurfaceKind kind) {
        return box_signal(*photo, box, kind);
      },
      py::arg("photo"), py::arg("box"), py::arg("kind"),
      R"(The mean light of a box in the photo, its odd pixels left out. Raises ArgumentError for a box outside
the photo and CaptureError where too little of it can be used.)");
  define(
      m, "read_box",
      [](const std::shared_ptr<Photo>& photo, const std::shared_ptr<T>& card_fit, const BoxPx& box,
         SurfaceKind kind,
         const std::string& label) { return read_box(*photo, card_fit->fit, box, kind, label); },
      py::arg("photo"), py::arg("fit"), py::arg("box"), py::arg("kind"), py::arg("label"),
      R"(The reading of a box of a surface of that kind, such as a tab beside the tooth. Raises ArgumentError
for a box outside the photo or a fit of another photo and CaptureError where too little can be used.)");
  define(
      m, "read_discs",
      [](const std::shared_ptr<Photo>& photo, const std::shared_ptr<T>& card_fit,
         const std::vector<BoxPx>& boxes) { return read_discs(*photo, card_fit->fit, boxes); },
      py::arg("photo"), py::arg("fit"), py::arg("boxes"),
      R"(Colours of cured discs of one composite on a bench, read together, as the card alone reads them; for
`share_errors`. One light falls on card and discs: no shadow between them is part of the covariance.
Raises as `read_box`.)");
  define(
      m, "signal_difference",
      [](const std::shared_ptr<T>& card_fit, const Signal& one, const Signal& other) {
        return difference(card_fit->fit, one, other);
      },
      py::arg("fit"), py::arg("one"), py::arg("other"),
      R"(How two surfaces in one photo differ, with an interval of its own: what camera, light and card put
both off by cancels, the metamerism of their materials does not.)");
  define(
      m, "to_px",
      [](const std::shared_ptr<T>& card_fit, const PointMm& at) {
        return to_px(card_fit->fit, at);
      },
      py::arg("fit"), py::arg("at"), R"(Where a point of the card stands in the photo.)");
}

}  // namespace

void bind_profile(py::module_& m);
void bind_zones(py::module_& m);

void bind_capture(py::module_& m) {
  bind_names<Encoding>(m);
  bind_names<WhiteBalance>(m);
  bind_names<CorrectionMethod>(m);
  bind_photo(m);
  bind_card(m);
  bind_card_fit(m);
  bind_profile(m);
  bind_zones(m);
}

}  // namespace mamelon::python
