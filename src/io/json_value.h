#pragma once
// Any described value as JSON: read strictly, written, and its schema.

#include <string>
#include <string_view>

#include "mamelon/description.h"

#include "io/json_node.h"
#include "io/json_write.h"

namespace mamelon::detail {

// Sets `value`, which holds the defaults of its type, from a node: unknown and missing keys and
// wrong kinds are errors. Ranges are `check`'s.
void read_value(const Node& node, const Type& type, void* value);
Json written_value(const Type& type, const void* value);
template <class T>
Json written(const T& value) {
  return written_value(type_of<T>(), &value);
}

// A whole document of `Fields<T>::format`, read and checked; errors are DataError with `source` and
// the path.
void read_document(std::string_view text, const std::string& source, const Type& type, void* value);
template <HasFields T>
T parse_described(std::string_view text, const std::string& source) {
  T value = blank<T>();
  read_document(text, source, type_of<T>(), &value);
  return value;
}
// The document as text. Its version is the least that knows every field which stands in it.
std::string write_document(const Type& type, const void* value);
template <HasFields T>
std::string write_described(const T& value) {
  return write_document(type_of<T>(), &value);
}

// JSON Schema (draft 2020-12) of a document, or of any value without its head.
Json schema_of(const Type& type);

}  // namespace mamelon::detail
