// Images: CIELAB of pixels and the nearest colour to each.

#include <cstdint>

#include "mamelon/batch.h"
#include "mamelon/reading.h"

#include "bindings.h"
#include "rows3.h"
#include "slices.h"
#include "values.h"

namespace mamelon::python {

namespace {

// Pixels between two looks for Ctrl-C: some tens of milliseconds of the slowest kernel with 16
// candidates.
constexpr std::size_t slice = std::size_t{1} << 20;

// Whole-number pixels of one dtype, shape (…, 3).
template <class T>
Integers<T> pixels(const py::object& object, const char* dtype, const std::string& where) {
  const py::object array = py::module_::import("numpy").attr("asarray")(object);
  const auto found = py::cast<std::string>(py::str(array.attr("dtype")));
  Shape shape;
  for (const py::handle size : array.attr("shape")) shape.push_back(py::cast<std::size_t>(size));
  if (found != dtype)
    throw ArgumentError(where + " must be an array of " + dtype + ", not " + found);
  if (shape.empty() || shape.back() != 3)
    throw ArgumentError(where + " must have shape (…, 3), not " + shape_text(shape));
  return integers<T>(array, dtype, where, Shape(shape.size(), 0));
}

Shape lead_of(const Shape& shape) {
  return {shape.begin(), shape.end() - 1};
}

std::size_t count_of(const Shape& shape) {
  std::size_t count = 1;
  for (const std::size_t size : shape) count *= size;
  return count;
}

template <class T>
class Output {
 public:
  Output(const Shape& shape, const char* dtype)
      : array_(empty_array(shape, dtype)),
        buffer_(py::reinterpret_borrow<py::buffer>(array_).request(true)) {}

  [[nodiscard]] std::span<T> part(std::size_t begin, std::size_t end) const {
    return {static_cast<T*>(buffer_.ptr) + begin, end - begin};
  }
  [[nodiscard]] const py::object& array() const { return array_; }

 private:
  py::object array_;
  py::buffer_info buffer_;
};

DifferenceWeights weights_from(const py::object& object) {
  return Convert<DifferenceWeights>::from_python(object, "weights");
}

template <class T>
py::object nearest_of(const Rows& colours, const Numbers& candidates, const BatchOptions& options) {
  const Shape lead = colours.lead();
  const std::size_t count = count_of(lead);
  const Output<std::uint32_t> index(lead, "uint32");
  const Output<T> de(lead, sizeof(T) == sizeof(float) ? "float32" : "float64");
  const auto* lab = static_cast<const T*>(colours.numbers.data());
  const auto choice =
      LabRows<T>::interleaved({static_cast<const T*>(candidates.data()), candidates.size()});
  for_slices(count, slice, [&](std::size_t begin, std::size_t end) {
    nearest_rows<T>(LabRows<T>::interleaved({lab + 3 * begin, 3 * (end - begin)}), choice,
                    index.part(begin, end), de.part(begin, end), options);
  });
  if (!colours.numbers.mask || colours.numbers.mask.is_none())
    return py::make_tuple(index.array(), de.array());
  const py::object masked = py::module_::import("numpy.ma").attr("masked_array");
  const py::object mask = colours.numbers.mask.attr("any")(py::arg("axis") = -1);
  return py::make_tuple(masked(index.array(), py::arg("mask") = mask),
                        masked(de.array(), py::arg("mask") = mask));
}

// Candidates as (m, 3) numbers of the wanted precision.
Numbers candidate_numbers(const py::object& object, bool single) {
  const Rows found = rows(object, 3, "candidates");
  if (found.numbers.shape.size() != 2)
    throw ArgumentError("candidates must have shape (m, 3), not " +
                        shape_text(found.numbers.shape));
  if (found.numbers.single == single) return found.numbers;
  return numbers(found.numbers.array.attr("astype")(single ? "float32" : "float64"), "candidates");
}

template <class T, class Source>
py::object linear_to_lab(const Source* rgb, const Shape& shape, const LinearToLab& conversion) {
  const Output<T> lab(shape, sizeof(T) == sizeof(float) ? "float32" : "float64");
  for_slices(count_of(shape) / 3, slice, [&](std::size_t begin, std::size_t end) {
    lab_from_linear(std::span<const Source>(rgb + 3 * begin, 3 * (end - begin)), conversion,
                    lab.part(3 * begin, 3 * end));
  });
  return lab.array();
}

LinearToLab conversion_from(const py::object& to_xyz, const py::object& white) {
  if (to_xyz.is_none() != white.is_none())
    throw ArgumentError("to_xyz and white go together: give both, or neither for sRGB");
  if (to_xyz.is_none()) return srgb_to_lab();
  const Doubles matrix = doubles(to_xyz, "to_xyz");
  if (matrix.shape != Shape{3, 3})
    throw ArgumentError("to_xyz must have shape (3, 3), not " + shape_text(matrix.shape));
  const Doubles point = doubles(white, "white");
  if (point.shape != Shape{3})
    throw ArgumentError("white must have shape (3,), not " + shape_text(point.shape));
  LinearToLab conversion;
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j) conversion.to_xyz[i][j] = matrix.data[3 * i + j];
  conversion.white = xyz_at(point.data);
  return conversion;
}

}  // namespace

void bind_pixels(py::module_& m) {
  m.def(
      "nearest_rows",
      [](const py::object& colours, const py::object& candidates, const py::object& weights,
         const py::object& squared) {
        const Rows given = rows(colours, 3, "colours");
        const BatchOptions options{.weights = weights_from(weights),
                                   .squared = Convert<bool>::from_python(squared, "squared")};
        const Numbers choice = candidate_numbers(candidates, given.numbers.single);
        return given.numbers.single ? nearest_of<float>(given, choice, options)
                                    : nearest_of<double>(given, choice, options);
      },
      py::arg("colours"), py::arg("candidates"), py::arg("weights") = DifferenceWeights{},
      py::kw_only(), py::arg("squared") = false,
      R"(nearest_rows(colours: ArrayLike, candidates: ArrayLike, weights: DifferenceWeights = ..., *, squared: bool = ...) -> tuple[NDArray[np.uint32], _Floats]

Of `candidates` (m, 3) the one nearest by CIEDE2000 to each of `colours` (…, 3), and how far it is.

Gives index and difference (ΔE² when `squared`), each (…,); of equally near candidates the first.
NaN in gives index 4294967295 and NaN; a masked colour is masked in both. float32 colours are worked
and answered in float32. Raises ArgumentError for a wrong shape or dtype or no candidate.

>>> index, de = nearest_rows([[70, 1, 15], [60, 1, 15]], [[61, 1, 15], [71, 1, 15]])
>>> index.tolist()
[1, 0]
)");
  m.def(
      "nearest_srgb8",
      [](const py::object& rgb, const py::object& candidates, const py::object& weights,
         const py::object& squared) {
        const auto image = pixels<std::uint8_t>(rgb, "uint8", "rgb");
        const BatchOptions options{.weights = weights_from(weights),
                                   .squared = Convert<bool>::from_python(squared, "squared")};
        const Numbers choice = candidate_numbers(candidates, true);
        const auto labs =
            LabRows<float>::interleaved({static_cast<const float*>(choice.data()), choice.size()});
        const Shape lead = lead_of(image.shape);
        const Output<std::uint32_t> index(lead, "uint32");
        const Output<float> de(lead, "float32");
        for_slices(count_of(lead), slice, [&](std::size_t begin, std::size_t end) {
          nearest_srgb8({image.data + 3 * begin, 3 * (end - begin)}, labs, index.part(begin, end),
                        de.part(begin, end), options);
        });
        return py::make_tuple(index.array(), de.array());
      },
      py::arg("rgb"), py::arg("candidates"), py::arg("weights") = DifferenceWeights{},
      py::kw_only(), py::arg("squared") = false,
      R"(nearest_srgb8(rgb: NDArray[np.uint8], candidates: ArrayLike, weights: DifferenceWeights = ..., *, squared: bool = ...) -> tuple[NDArray[np.uint32], NDArray[np.float32]]

`nearest_rows` for 8-bit sRGB pixels (…, 3) and candidates (m, 3) in CIELAB under D65.

The same bits as `nearest_rows(lab_from_srgb8(rgb), candidates)` in float32, without the image of
CIELAB in between. Raises ArgumentError for a wrong shape or dtype or no candidate.

>>> nearest_srgb8(np.array([[255, 255, 255]], np.uint8), [[50, 0, 0], [99, 0, 0]])[0].tolist()
[1]
)");
  m.def(
      "lab_from_srgb8",
      [](const py::object& rgb) {
        const auto image = pixels<std::uint8_t>(rgb, "uint8", "rgb");
        const Output<float> lab(image.shape, "float32");
        for_slices(count_of(image.shape) / 3, slice, [&](std::size_t begin, std::size_t end) {
          lab_from_srgb8({image.data + 3 * begin, 3 * (end - begin)}, lab.part(3 * begin, 3 * end));
        });
        return lab.array();
      },
      py::arg("rgb"),
      R"(lab_from_srgb8(rgb: NDArray[np.uint8]) -> NDArray[np.float32]

CIELAB (…, 3) under D65 of 8-bit sRGB pixels (IEC 61966-2-1); error at most 2e-4.

Raises ArgumentError for a wrong shape or dtype.

>>> lab_from_srgb8(np.array([255, 255, 255], np.uint8)).round(3).tolist()
[100.0, 0.0, 0.0]
)");
  m.def(
      "lab_from_linear",
      [](const py::object& rgb, const py::object& to_xyz, const py::object& white) {
        const LinearToLab conversion = conversion_from(to_xyz, white);
        const auto array = py::module_::import("numpy").attr("asarray")(rgb);
        if (py::cast<std::string>(py::str(array.attr("dtype"))) == "uint16") {
          const auto image = pixels<std::uint16_t>(array, "uint16", "rgb");
          return linear_to_lab<float>(image.data, image.shape, conversion);
        }
        const Rows image = rows(array, 3, "rgb");
        const Shape& shape = image.numbers.shape;
        if (image.numbers.single)
          return linear_to_lab<float>(static_cast<const float*>(image.numbers.data()), shape,
                                      conversion);
        return linear_to_lab<double>(static_cast<const double*>(image.numbers.data()), shape,
                                     conversion);
      },
      py::arg("rgb"), py::arg("to_xyz") = py::none(), py::arg("white") = py::none(),
      R"(lab_from_linear(rgb: ArrayLike, to_xyz: ArrayLike | None = ..., white: ArrayLike | None = ...) -> _Floats

CIELAB (…, 3) of linear RGB (…, 3): XYZ = `to_xyz` (3, 3) · RGB, then CIELAB under `white` (3,).

Without the two the primaries and white of sRGB. RGB in 0–1, or uint16 with 65535 standing for 1;
float64 gives float64, the others float32. Raises ArgumentError for a wrong shape or dtype.

>>> lab_from_linear([1.0, 1.0, 1.0]).round(6).tolist()
[100.0, 0.0, 0.0]
)");
}

}  // namespace mamelon::python
