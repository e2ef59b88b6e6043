// The part of a value class that does not depend on its type.

#include "values.h"

namespace mamelon::python {

namespace {

std::string field_names(const TypeOps& type) {
  std::string names;
  for (const FieldOps& f : type.fields) names += (names.empty() ? "" : ", ") + std::string(f.name);
  return names;
}

bool is_name_of(const FieldOps& field, const std::string& name) {
  return name == field.name || (field.former != nullptr && name == field.former);
}

void refuse_unknown(const py::kwargs& kwargs, const TypeOps& type) {
  for (const auto& item : kwargs) {
    const auto name = py::cast<std::string>(item.first);
    const bool known = std::any_of(type.fields.begin(), type.fields.end(),
                                   [&](const FieldOps& f) { return is_name_of(f, name); });
    if (!known)
      throw ArgumentError(std::string(type.name) + " has no field `" + name + "`; its fields are " +
                          field_names(type));
  }
}

}  // namespace

void fill(void* value, const TypeOps& type, const py::args& args, const py::kwargs& kwargs,
          bool all_needed) {
  const std::string name = type.name;
  if (args.size() > type.fields.size())
    throw ArgumentError(name + " takes at most " + std::to_string(type.fields.size()) +
                        " values, not " + std::to_string(args.size()));
  refuse_unknown(kwargs, type);
  for (std::size_t i = 0; i < type.fields.size(); ++i) {
    const FieldOps& f = type.fields[i];
    const std::string where = name + "." + f.name;
    if (i < args.size()) {
      if (kwargs.contains(f.name)) throw ArgumentError(where + " is given twice");
      f.set(value, args[i], where);
    } else if (kwargs.contains(f.name)) {
      f.set(value, kwargs[f.name], where);
    } else if (f.former != nullptr && kwargs.contains(f.former)) {
      f.set(value, kwargs[f.former], where);
    } else if (f.required && all_needed) {
      throw ArgumentError(name + " needs `" + f.name + "`; its fields are " + field_names(type));
    }
  }
}

py::tuple field_values(const void* value, const TypeOps& type) {
  py::tuple values(type.fields.size());
  for (std::size_t i = 0; i < type.fields.size(); ++i) values[i] = type.fields[i].get(value);
  return values;
}

std::string short_repr(const void* value, const TypeOps& type) {
  constexpr std::size_t longest = 110;
  std::string text = std::string(type.name) + "(";
  bool first = true;
  for (const FieldOps& f : type.fields) {
    const std::string item = f.repr(value);
    const char* separator = first ? "" : ", ";
    if (text.size() + item.size() > longest) return text + separator + "…)";
    text += separator + std::string(f.name) + "=" + item;
    first = false;
  }
  return text + ")";
}

std::string constructor_signature(const TypeOps& type) {
  std::string text = "(self";
  for (const FieldOps& f : type.fields)
    text += ", " + std::string(f.name) + ": " + f.in_type() + (f.required ? "" : " = ...");
  return text + ") -> None";
}

void pickle_by(const py::object& cls, const std::vector<const char*>& names) {
  add_method(cls, "__reduce__", [names](const py::object& self) {
    py::list values;
    for (const char* name : names) values.append(self.attr(name));
    return py::make_tuple(py::type::of(self), py::tuple(values));
  });
}

void add_common(const py::object& cls, const TypeOps& type) {
  const TypeOps* ops = &type;
  add_method(cls, "__eq__", [ops](const py::object& self, const py::object& other) -> py::object {
    if (!ops->is(other)) return py::reinterpret_borrow<py::object>(Py_NotImplemented);
    return py::bool_(ops->same(ops->address(self), ops->address(other)));
  });
  add_method(cls, "__hash__", [ops](const py::object& self) {
    return static_cast<py::ssize_t>(ops->hash(ops->address(self)) >> 1U);
  });
  add_method(cls, "__copy__", [](const py::object& self) { return self; });
  add_method(cls, "__deepcopy__", [](const py::object& self, const py::object&) { return self; });
  add_method(cls, "_repr_html_", [](const py::object& self) {
    return py::module_::import("mamelon._html").attr("to_html")(self);
  });
}

void add_fields(const py::object& cls, const TypeOps& type) {
  const TypeOps* ops = &type;
  py::list names;
  for (const FieldOps& f : type.fields) {
    const auto property = [ops, get = f.get](const py::object& self) {
      return get(ops->address(self));
    };
    add_property(cls, f.name, property, f.out_type() + ": " + f.doc);
    if (f.former != nullptr)
      add_property(cls, f.former, property,
                   f.out_type() + ": former name of `" + f.name + "`, for this version only");
    names.append(f.name);
  }
  cls.attr("__match_args__") = py::tuple(names);
  add_method(cls, "__reduce__", [ops](const py::object& self) {
    return py::make_tuple(py::type::of(self), field_values(ops->address(self), *ops));
  });
  const auto replace = [ops](const py::object& self, const py::kwargs& changes) {
    return ops->replaced(ops->address(self), changes);
  };
  add_method(cls, "replace", replace,
             "replace(self, **changes: Any) -> Self\n\nA copy with some fields changed.");
  add_method(cls, "__replace__", replace, "__replace__(self, **changes: Any) -> Self");
  add_method(cls, "__repr__",
             [ops](const py::object& self) { return short_repr(ops->address(self), *ops); });
}

void add_sequence(const py::object& cls, const TypeOps& type) {
  const TypeOps* ops = &type;
  const auto values = [ops](const py::object& self) {
    return field_values(ops->address(self), *ops);
  };
  add_method(
      cls, "__len__", [ops](const py::object&) { return ops->fields.size(); },
      "__len__(self) -> int");
  add_method(
      cls, "__iter__", [values](const py::object& self) { return py::iter(values(self)); },
      "__iter__(self) -> Iterator[float]");
  add_method(
      cls, "__getitem__",
      [values](const py::object& self, const py::object& index) -> py::object {
        return values(self).attr("__getitem__")(index);
      },
      "__getitem__(self, index: int) -> float");
  cls.attr("__array__") = py::cpp_function(
      [values](const py::object& self, const py::object& dtype, const py::object&) {
        return py::module_::import("numpy").attr("array")(
            values(self), dtype.is_none() ? py::str("float64") : dtype);
      },
      py::name("__array__"), py::is_method(cls), py::arg("dtype") = py::none(),
      py::arg("copy") = py::none(),
      "__array__(self, dtype: DTypeLike = ..., copy: bool | None = ...) -> NDArray[np.float64]");
}

}  // namespace mamelon::python
