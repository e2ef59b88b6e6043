// Masks and tooth zones.

#include "mamelon/zones.h"

#include "mamelon/layout.h"

#include "bindings.h"
#include "define.h"
#include "photos.h"

namespace mamelon::python {

// The map as an array and the place of its upper left pixel.
template <>
struct Result<std::shared_ptr<LabMap>> {
  static std::string type() { return "tuple[NDArray[np.float32], int, int]"; }
  static py::object from(const std::shared_ptr<LabMap>& map) {
    return py::make_tuple(viewed_array(map->lab.data(), "f", 4, {map->height, map->width, 3}, map),
                          map->x, map->y);
  }
};

namespace {

void bind_mask(py::module_& m) {
  ValueClass<Mask> cls(m, "Mask", R"(A binary mask over a rectangle of the photo.

`inside` is (height, width) of booleans; `x` and `y` are its upper left corner in the photo.

>>> mask = Mask(np.ones((4, 6), dtype=bool), x=10, y=20)
>>> mask.width, int(mask.inside.sum())
(6, 24)
)");
  cls.def(py::init([](const py::object& inside, const py::object& x, const py::object& y) {
            const auto pixels = integers<std::uint8_t>(inside, "bool", "Mask.inside", {0, 0});
            auto mask = std::make_shared<Mask>();
            mask->x = Convert<std::size_t>::from_python(x, "Mask.x");
            mask->y = Convert<std::size_t>::from_python(y, "Mask.y");
            mask->height = pixels.shape[0];
            mask->width = pixels.shape[1];
            mask->inside.assign(pixels.data, pixels.data + mask->width * mask->height);
            return mask;
          }),
          py::arg("inside"), py::arg("x") = 0, py::arg("y") = 0,
          "__init__(self, inside: ArrayLike, x: int = ..., y: int = ...) -> None");
  cls.def_property_readonly(
      "inside",
      [](const std::shared_ptr<Mask>& self) {
        return viewed_array(self->inside.data(), "?", 1, {self->height, self->width}, self);
      },
      "NDArray[np.bool_]: (height, width), read-only");
  add_property_of(cls, "x", &Mask::x, "left edge in pixels");
  add_property_of(cls, "y", &Mask::y, "upper edge in pixels");
  add_property_of(cls, "width", &Mask::width, "in pixels");
  add_property_of(cls, "height", &Mask::height, "in pixels");
  pickle_by(cls, {"inside", "x", "y"});
  cls.def("__repr__", [](const Mask& self) { return Convert<Mask>::repr(self); });
  bind_common(cls, "Mask");
}

}  // namespace

void bind_zones(py::module_& m) {
  bind_names<ToothKind>(m);
  bind_mask(m);
  bind_value<Zone>(m, R"(One third of a tooth with the mask of its usable pixels.

>>> Zone("middle", Mask(np.ones((2, 2), dtype=bool))).name
'middle'
)");
  bind_value<Zones>(m, "The tooth in a photo, its thirds, its glare and its long axis.");
  define_long(
      m, "find_zones",
      [](const std::shared_ptr<Photo>& photo, const std::shared_ptr<FittedCard>& fit,
         const std::optional<PointPx>& point, const std::optional<BoxPx>& box,
         const std::optional<Mask>& mask, const std::optional<std::vector<PointPx>>& rim,
         const std::optional<std::vector<PointPx>>& inside,
         const std::optional<std::vector<PointPx>>& outside, ToothKind kind,
         std::optional<double> cervical_direction_deg, double margin_mm, bool from_above,
         bool polarised) {
        const std::vector<PointPx> none;
        return find_zones(*photo, fit->fit,
                          {.point = point,
                           .box = box,
                           .mask = mask,
                           .rim = rim.value_or(none),
                           .inside = inside.value_or(none),
                           .outside = outside.value_or(none)},
                          {.kind = kind,
                           .cervical_direction_deg = cervical_direction_deg,
                           .margin_mm = margin_mm,
                           .from_above = from_above,
                           .polarised = polarised});
      },
      py::arg("photo"), py::arg("fit"), py::kw_only(), py::arg("point") = py::none(),
      py::arg("box") = py::none(), py::arg("mask") = py::none(), py::arg("rim") = py::none(),
      py::arg("inside") = py::none(), py::arg("outside") = py::none(), py::arg("kind") = "anterior",
      py::arg("cervical_direction_deg") = py::none(),
      py::arg("margin_mm") = ZoneOptions{}.margin_mm, py::arg("from_above") = false,
      py::arg("polarised") = false,
      R"(Outlines the tooth and cuts it into thirds along its long axis.

Give one of `point`, `box` (x, y, width, height), `rim` (a roughly drawn outline) and `mask`; with
none the largest tooth-like region nearest the centre is taken, and a warning says so. Points
`inside` and `outside` may go with any of them but a mask. Raises ArgumentError for a hint outside
the photo and CaptureError when no tooth-like region is there or the outline is too uncertain.
`from_above` reads a premolar's or molar's cusps and fissures in place of thirds; `polarised` says
that the photo was taken through crossed polarisers, where nothing is glare.)");
  bind_value<ToothInView>(m, "A tooth in view with its outline, before any is chosen.");
  define(
      m, "is_doubtful", is_doubtful, py::arg("confidence"),
      R"(Whether an outline is so uncertain that it is to be looked at before its reading is believed: its
confidence, a chance from 0 to 1, lies below 0.85.

>>> is_doubtful(0.8)
True
)");
  define_long(
      m, "find_teeth",
      [](const std::shared_ptr<Photo>& photo, const std::shared_ptr<FittedCard>& fit) {
        return find_teeth(*photo, fit->fit);
      },
      py::arg("photo"), py::arg("fit"),
      R"(All teeth in view, each with its outline and confidence; no two share a pixel.)");
  define_long(
      m, "read_zones",
      [](const std::shared_ptr<Photo>& photo, const std::shared_ptr<FittedCard>& fit,
         const std::shared_ptr<Zones>& zones, const std::string& label,
         SurfaceKind kind) { return read_zones(*photo, fit->fit, *zones, label, kind); },
      py::arg("photo"), py::arg("fit"), py::arg("zones"), py::arg("label"), py::kw_only(),
      py::arg("kind") = "tooth",
      R"(Mean CIELAB of each zone with covariance, in the zones' order; `kind` is what the surface is made of.
Raises ArgumentError for a fit or zones of another photo.)");
  define_long(
      m, "zone_signals",
      [](const std::shared_ptr<Photo>& photo, const std::shared_ptr<Zones>& zones,
         SurfaceKind kind) { return zone_signals(*photo, *zones, kind); },
      py::arg("photo"), py::arg("zones"), py::arg("kind") = "tooth",
      R"(The mean light of each zone, in the zones' order, for `signal_difference`.)");
  define_long(
      m, "read_grid",
      [](const std::shared_ptr<Photo>& photo, const std::shared_ptr<FittedCard>& fit,
         const std::shared_ptr<Zones>& zones, std::size_t rows, std::size_t columns,
         const std::string& label, SurfaceKind kind) {
        return read_grid(*photo, fit->fit, *zones, rows, columns, label, kind);
      },
      py::arg("photo"), py::arg("fit"), py::arg("zones"), py::arg("rows"), py::arg("columns"),
      py::arg("label"), py::kw_only(), py::arg("kind") = "tooth",
      R"(Mean CIELAB of the cells of a grid over the tooth: rows along its long axis, columns across it.

The zone of a cell is named for instance `r1c2`; cells of which little can be measured are left
out.)");
  define_long(
      m, "map_lab",
      [](const std::shared_ptr<Photo>& photo, const std::shared_ptr<FittedCard>& fit,
         const std::shared_ptr<Zones>& zones) {
        return std::make_shared<LabMap>(map_lab(*photo, fit->fit, *zones));
      },
      py::arg("photo"), py::arg("fit"), py::arg("zones"),
      R"(CIELAB of the tooth pixel by pixel: a (height, width, 3) array, read-only, and the column and row of
its upper left pixel in the photo. NaN outside the tooth, in glare and where the photo is clipped.)");
}

}  // namespace mamelon::python
