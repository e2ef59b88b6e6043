#include "io/json_write.h"

#include <algorithm>
#include <string>

namespace mamelon::detail {
namespace {

bool is_flat(const Json& value) {
  return value.is_array() &&
         std::none_of(value.begin(), value.end(), [](const Json& v) { return v.is_structured(); });
}

std::string plain(const Json& value) {
  return value.dump(-1, ' ', false, Json::error_handler_t::replace);
}

void write(const Json& value, std::size_t indent, std::string& out) {
  const bool object = value.is_object();
  if (!value.is_structured() || value.empty() || is_flat(value)) {
    out += plain(value);
    return;
  }
  out += object ? "{\n" : "[\n";
  bool first = true;
  for (const auto& [key, item] : value.items()) {
    if (!first) out += ",\n";
    first = false;
    out.append(indent + 2, ' ');
    if (object) out += plain(Json(key)) + ": ";
    write(item, indent + 2, out);
  }
  out += '\n';
  out.append(indent, ' ');
  out += object ? '}' : ']';
}

}  // namespace

std::string dump(const Json& document) {
  std::string out;
  write(document, 0, out);
  out += '\n';
  return out;
}

}  // namespace mamelon::detail
