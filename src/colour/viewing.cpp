#include "mamelon/viewing.h"

#include <charconv>

namespace mamelon {

std::string to_string(const Viewing& viewing) {
  return viewing.illuminant.name() + (viewing.observer == Observer::deg2 ? "/2" : "/10");
}

Viewing viewing_from_string(std::string_view text) {
  const std::size_t slash = text.rfind('/');
  const std::string_view observer = slash == std::string_view::npos ? "" : text.substr(slash + 1);
  if (observer != "2" && observer != "10")
    throw ArgumentError("a viewing is an illuminant and an observer such as D65/2 or A/10, got '" +
                        std::string(text) + "'");
  const std::string_view name = text.substr(0, slash);
  const Observer chosen = observer == "2" ? Observer::deg2 : Observer::deg10;
  // D5500K: daylight by its correlated colour temperature.
  if (name.size() > 2 && name.front() == 'D' && name.back() == 'K') {
    int cct_k = 0;
    const auto [end, error] =
        std::from_chars(name.data() + 1, name.data() + name.size() - 1, cct_k);
    if (error == std::errc{} && end == name.data() + name.size() - 1)
      return {daylight(cct_k), chosen};
  }
  return {standard_illuminant(name), chosen};
}

void check_same_viewing(const Viewing& a, const Viewing& b, const std::string& where) {
  if (a == b) return;
  throw ArgumentError(where + ": the viewings differ, " + to_string(a) + " and " + to_string(b) +
                      "; state both colours under the same illuminant and observer");
}

}  // namespace mamelon
