#include "io/json_write.h"

#include <algorithm>
#include <string>

#include "base/numbers.h"

namespace mamelon::detail {
namespace {

bool is_flat(const Json& value) {
  return value.is_array() &&
         std::none_of(value.begin(), value.end(), [](const Json& v) { return v.is_structured(); });
}

// Control characters that JSON allows as they are, and a terminal obeys: DEL, C1 (U+0080–U+009F)
// and the marks that turn the direction of text (U+202A–U+202E, U+2066–U+2069), written as escapes.
std::string with_escapes(const std::string& text) {
  std::string out;
  out.reserve(text.size());
  const auto byte = [&](std::size_t i) {
    return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U;
  };
  for (std::size_t i = 0; i < text.size();) {
    if (byte(i) == 0x7f) {
      out += "\\u007f";
      i += 1;
    } else if (byte(i) == 0xc2 && byte(i + 1) < 0xa0) {
      out += byte(i + 1) < 0x90 ? "\\u008" : "\\u009";
      out += "0123456789abcdef"[byte(i + 1) & 15U];
      i += 2;
    } else if (byte(i) == 0xe2 &&
               ((byte(i + 1) == 0x80 && byte(i + 2) >= 0xaa && byte(i + 2) <= 0xae) ||
                (byte(i + 1) == 0x81 && byte(i + 2) >= 0xa6 && byte(i + 2) <= 0xa9))) {
      out += byte(i + 1) == 0x80 ? "\\u202" : "\\u206";
      out += "0123456789abcdef"[byte(i + 2) & 15U];
      i += 3;
    } else {
      out += text[i];
      i += 1;
    }
  }
  return out;
}

std::string plain(const Json& value) {
  return with_escapes(value.dump(-1, ' ', false, Json::error_handler_t::replace));
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

std::string dump_line(const Json& document) {
  return plain(document);
}

namespace {

void round_numbers(Json& value) {
  if (value.is_structured()) {
    for (Json& item : value) round_numbers(item);
  } else if (value.is_number_float()) {
    value = rounded(value.get<double>(), result_digits);
  }
}

}  // namespace

std::string dump_item(Json item, std::size_t indent) {
  round_numbers(item);
  std::string out;
  write(item, indent, out);
  return out;
}

std::string dump_results(Json document) {
  round_numbers(document);
  return dump(document);
}

std::string dump(const Json& document) {
  std::string out;
  write(document, 0, out);
  out += '\n';
  return out;
}

}  // namespace mamelon::detail
