#include "define.h"

#include <pybind11/stl/filesystem.h>

namespace mamelon::python {

std::filesystem::path Argument<std::filesystem::path>::taken(const py::object& given,
                                                             const char* name) {
  const auto text = py::reinterpret_steal<py::object>(PyOS_FSPath(given.ptr()));
  if (!text) {
    PyErr_Clear();
    wrong_type(name, "the path of a file", given);
  }
  return text.cast<std::filesystem::path>();
}

Bytes Argument<Bytes>::taken(const py::object& given, const char* name) {
  if (!PyBytes_Check(given.ptr())) wrong_type(name, "bytes", given);
  return {py::cast<std::string>(given)};
}

TextOrBytes Argument<TextOrBytes>::taken(const py::object& given, const char* name) {
  if (!PyUnicode_Check(given.ptr()) && !PyBytes_Check(given.ptr())) {
    wrong_type(name, "a string or bytes", given);
  }
  return {py::cast<std::string>(given)};
}

std::string docstring(const char* name, const Description& all,
                      const std::vector<std::string>& types, const std::string& result) {
  std::string text;
  for (std::size_t i = 0; i < types.size(); ++i) {
    const Parameter& one = all.parameters[i];
    text += (i == 0 ? "" : ", ") + std::string(one.begins_keywords ? "*, " : "") + one.name + ": " +
            types[i] + (one.has_default ? " = ..." : "");
  }
  return std::string(name) + "(" + text + ") -> " + result + "\n\n" + all.text;
}

}  // namespace mamelon::python
