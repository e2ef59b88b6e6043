#pragma once
// Small helpers for rows of three numbers.

#include "mamelon/reading.h"

#include "values.h"
namespace mamelon::python {

inline Xyz xyz_at(const double* row) {
  return {row[0], row[1], row[2]};
}
inline Lab lab_at(const double* row) {
  return {row[0], row[1], row[2]};
}
inline void put(double* row, double a, double b, double c) {
  row[0] = a;
  row[1] = b;
  row[2] = c;
}

inline bool is_viewing(py::handle object) {
  return py::isinstance<Viewing>(object) || PyUnicode_Check(object.ptr());
}

// A white point as rows, from tristimulus values or from a viewing; never decides the dtype.
inline Rows white_rows(py::handle object, const std::string& where) {
  if (!is_viewing(object)) return rows(object, 3, where);
  const Xyz white = white_point(Convert<Viewing>::from_python(object, where));
  Rows result = rows(py::make_tuple(white.x, white.y, white.z), 3, where);
  result.weak = true;
  return result;
}

// A table (n, 3) as a list of colours.
inline std::vector<Lab> lab_list(py::handle object, const std::string& where) {
  const Doubles table = doubles(object, where);
  if (table.shape.size() != 2 || table.shape[1] != 3)
    throw ArgumentError(where + " must have shape (n, 3), not " + shape_text(table.shape));
  std::vector<Lab> colours;
  for (std::size_t i = 0; i < table.shape[0]; ++i) colours.push_back(lab_at(table.data + 3 * i));
  return colours;
}

}  // namespace mamelon::python
