#include "cli/arguments.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <system_error>
#include <utility>

#include "base/listing.h"
#include "base/numbers.h"

namespace mamelon::cli {

std::vector<std::string> split(const std::string& text, char mark) {
  std::vector<std::string> parts(1);
  for (const char c : text) {
    if (c == mark) {
      parts.emplace_back();
    } else {
      parts.back() += c;
    }
  }
  return parts;
}

std::pair<std::string, std::string> parted(const std::string& text, char mark) {
  const std::size_t at = text.rfind(mark);
  if (at == std::string::npos) return {"", text};
  return {text.substr(0, at), text.substr(at + 1)};
}

double number_argument(const std::string& option, const std::string& text, double least,
                       double most) {
  const auto value = detail::parse_number(text);
  if (!value) {
    throw ArgumentError(option + ": expected a number, got \"" + text.substr(0, 40) + "\"");
  }
  if (*value < least || *value > most) {
    throw ArgumentError(option + ": expected a number from " + detail::format_short(least, 6) +
                        " to " + detail::format_short(most, 6) + ", got " +
                        detail::format_short(*value, 6));
  }
  return *value;
}

int whole_argument(const std::string& option, const std::string& text, int least, int most) {
  const double value = number_argument(option, text, least, most);
  if (value != std::floor(value)) {
    throw ArgumentError(option + ": expected a whole number, got " +
                        detail::format_short(value, 6));
  }
  return static_cast<int>(value);
}

std::pair<std::string, std::string> pair_argument(const std::string& option,
                                                  const std::string& expected,
                                                  const std::string& text) {
  const std::size_t sign = text.find('=');
  if (sign == 0 || sign == std::string::npos || sign + 1 == text.size()) {
    throw ArgumentError(option + ": expected " + expected + ", got \"" + text.substr(0, 40) + "\"");
  }
  return {text.substr(0, sign), text.substr(sign + 1)};
}

std::vector<double> numbers_argument(const std::string& option, const std::string& text, char mark,
                                     double least, double most) {
  std::vector<double> numbers;
  for (const std::string& part : split(text, mark)) {
    numbers.push_back(number_argument(option, part, least, most));
  }
  return numbers;
}

std::size_t paste_argument(const std::string& option, const PasteSet& set,
                           const std::string& name) {
  std::vector<std::string> known;
  for (const Paste& paste : set.pastes) {
    if (paste.name == name) return known.size();
    known.push_back(paste.name);
  }
  throw ArgumentError(option + ": no paste is named \"" + name + "\"; there are " +
                      detail::listing(known));
}

std::vector<double> list_argument(const std::string& option, const std::string& text,
                                  std::size_t count) {
  const auto parts = split(text, ',');
  std::vector<double> values;
  for (const std::string& part : parts) {
    const auto value = detail::parse_number(part);
    if (value) values.push_back(*value);
  }
  if (values.size() != count || parts.size() != count) {
    throw ArgumentError(option + ": expected " + std::to_string(count) +
                        " numbers with commas between them, got \"" + text.substr(0, 40) + "\"");
  }
  return values;
}

Viewing viewing_argument(const std::string& text) {
  try {
    return viewing_from_string(text);
  } catch (const ArgumentError& error) {
    throw ArgumentError(std::string("--viewing: ") + error.what());
  }
}

DifferenceWeights weights_argument(const std::string& text) {
  const auto parts = split(text, ':');
  if (parts.size() != 3) {
    throw ArgumentError("--weights: expected kL:kC:kH as 1:1:1 or 2:1:1, got \"" +
                        text.substr(0, 40) + "\"");
  }
  return {.kl = number_argument("--weights", parts[0], 0.1, 10),
          .kc = number_argument("--weights", parts[1], 0.1, 10),
          .kh = number_argument("--weights", parts[2], 0.1, 10)};
}

namespace {

// Numbers alone, however they are set apart, are meant as a colour.
void check_no_numbers(const std::string& option, const std::string& text) {
  std::error_code failed;
  if (text.find_first_of("0123456789") == std::string::npos ||
      text.find_first_not_of("0123456789.,;:+-/ \t") != std::string::npos ||
      std::filesystem::exists(text, failed)) {
    return;
  }
  throw ArgumentError(option +
                      ": expected a colour as L,a,b or L,a,b,sdL,sda,sdb, with commas "
                      "between the numbers and points in them, got \"" +
                      text.substr(0, 40) + "\"");
}

}  // namespace

std::optional<Reading> colour_argument(const std::string& option, const std::string& text,
                                       const Viewing& viewing) {
  const auto parts = split(text, ',');
  if ((parts.size() != 3 && parts.size() != 6) ||
      !std::all_of(parts.begin(), parts.end(),
                   [](auto& part) { return detail::parse_number(part).has_value(); })) {
    check_no_numbers(option, text);
    return {};
  }
  const auto values = list_argument(option, text, parts.size());
  if (values[0] < 0 || values[0] > 100) {
    throw ArgumentError(option + ": expected L* from 0 to 100, got " +
                        detail::format_short(values[0], 6));
  }
  constexpr double most_chroma = 200;
  for (const std::size_t i : {1U, 2U}) {
    if (std::abs(values[i]) > most_chroma) {
      throw ArgumentError(option + ": expected a* and b* from -200 to 200, got " +
                          detail::format_short(values[i], 6));
    }
  }
  Reading reading = {text, "", {{values[0], values[1], values[2]}, {}, {}}, {}, viewing, 1, {}, {}};
  if (parts.size() == 6) {
    Vec3 variance{};
    for (std::size_t i = 0; i < 3; ++i) {
      if (values[3 + i] < 0 || values[3 + i] > 100) {
        throw ArgumentError(option + ": a standard deviation is " +
                            detail::format_short(values[3 + i], 6) + "; give 0 to 100");
      }
      variance[i] = values[3 + i] * values[3 + i];
    }
    reading.lab.random = diagonal(variance);
  }
  reading.provenance = make_provenance("stated colour", text, {});
  return reading;
}

Aperture aperture_argument(const std::string& text) {
  if (text == "endless") return {1000, 500};
  const auto slash = text.find('/');
  if (slash == std::string::npos) {
    throw ArgumentError(
        "--aperture: expected LIT/SEEN in mm, for instance 8/4, or endless, got \"" +
        text.substr(0, 40) + "\"");
  }
  return {number_argument("--aperture", text.substr(0, slash), 0.1, 1000),
          number_argument("--aperture", text.substr(slash + 1), 0.1, 1000)};
}

Reflectance floor_argument(const std::string& text, const Viewing& viewing, const Grid& grid,
                           const TableOptions& options, std::vector<std::string>& warnings) {
  if (const auto colour = colour_argument("--floor", text, viewing)) {
    warnings.push_back(
        "the floor was given as a colour: the smoothest reflectance of that colour stands in for "
        "its spectrum");
    return estimate_reflectance(colour->lab.value, viewing, grid);
  }
  Reflectance floor = read_reflectance(text, options);
  if (floor.grid() == grid) return floor;
  if (floor.grid().first_nm > grid.first_nm || floor.grid().last_nm() < grid.last_nm()) {
    warnings.push_back(
        "the floor's curve ends inside the pastes' range of wavelengths; its last "
        "value is held to the end");
  }
  return resample(floor, grid, Interpolation::cubic, Extrapolation::hold);
}

}  // namespace mamelon::cli
