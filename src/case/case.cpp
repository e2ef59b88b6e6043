#include "mamelon/case.h"

#include <algorithm>
#include <charconv>
#include <span>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "mamelon/error.h"
#include "mamelon/limits.h"

#include "base/find.h"
#include "base/listing.h"
#include "base/numbers.h"
#include "case/teeth.h"

namespace mamelon {
namespace {

void check_tooth(const Case& given, const CaseTooth& tooth, const std::string& name) {
  if (tooth.number) (void)tooth_kind(*tooth.number);
  const ToothHint& at = tooth.at;
  const int places = int{at.point.has_value()} + int{at.box.has_value()} + int{at.mask.has_value()};
  if (places > 1) {
    throw ArgumentError(name + ": point, box and mask say the same thing; give one of them");
  }
  if (!tooth.readings.empty()) {
    if (places > 0) {
      throw ArgumentError(name + ": has readings and a place in the photo; give one of them");
    }
    for (const Reading& reading : tooth.readings) {
      check_same_viewing(reading.viewing, given.viewing, name + "'s readings");
    }
  } else if (!given.photo) {
    throw ArgumentError(name + ": has neither readings nor a photo");
  }
}

// Whether a hint for a tooth points into a box.
bool points_into(const ToothHint& at, const BoxPx& box) {
  const auto inside = [&](double x, double y) {
    return x >= box.x && y >= box.y && x <= box.x + box.width && y <= box.y + box.height;
  };
  if (at.point) return inside(at.point->x, at.point->y);
  if (at.box) return inside(at.box->x + at.box->width / 2, at.box->y + at.box->height / 2);
  return false;
}

void check_floor(const CaseFloor& floor) {
  if (int{floor.reflectance.has_value()} + int{floor.colour.has_value()} +
          int{floor.photo.has_value()} !=
      1) {
    throw ArgumentError("the floor is one of a curve, a colour and a photo");
  }
  if (floor.photo && floor.box.has_value() == floor.mask.has_value()) {
    throw ArgumentError("say where the floor is in its photo, with a box or a mask");
  }
}

void check_restoration(const Restoration& restoration) {
  check_paste_set(restoration.pastes);
  check_floor(restoration.floor);
  check(restoration, "the restoration");
}

}  // namespace

namespace detail {

void check_has_card(const Case& given) {
  if (given.card && given.kept_fit) {
    throw ArgumentError(
        "give a card or a kept fit: a photo that shows the card needs no fit of another one");
  }
  if (given.kept_fit &&
      (given.blank_white || given.method || given.corners_px || !given.exclude.empty())) {
    throw ArgumentError(
        "a blank white field, a method, corners and patches to leave out go with a card; a kept "
        "fit holds its own");
  }
  if (given.kept_fit && given.photo && given.photo->mirrored) {
    throw ArgumentError(
        "a mirror takes part of the light: a photo in a mirror needs its card in the mirror");
  }
  if (given.drift && !given.kept_fit) throw ArgumentError("drift goes with a kept fit");
  if (given.photo && !given.card && !given.kept_fit && given.tabs_in_photo.empty()) {
    throw ArgumentError(
        "a photo needs the reference card that stands in it, the kept fit of an earlier photo, or "
        "tabs that stand in for it");
  }
  if (!given.tabs_in_photo.empty() && !given.tabs) {
    throw ArgumentError("tabs in the photo are tabs of a set: give the set");
  }
}

std::string tooth_name(const Case& given, std::size_t i) {
  const CaseTooth& tooth = given.teeth[i];
  if (!tooth.name.empty()) return tooth.name;
  if (tooth.number) return "tooth " + std::to_string(*tooth.number);
  const std::string base = given.label.empty() ? "tooth" : given.label;
  return given.teeth.size() > 1 ? base + " " + std::to_string(i + 1) : base;
}

std::size_t headline_of(const Case& given) {
  if (given.headline.empty()) return 0;
  const auto number = [](const std::string& text) {
    const auto value = parse_number(text);
    return value ? *value : 0;
  };
  std::vector<std::string> known;
  for (std::size_t i = 0; i < given.teeth.size(); ++i) {
    const CaseTooth& tooth = given.teeth[i];
    std::string name = tooth_name(given, i);
    if (given.headline == name) return i;
    if (tooth.number && number(given.headline) == *tooth.number) return i;
    known.push_back(std::move(name));
  }
  const double place = number(given.headline);
  for (std::size_t i = 0; i < given.teeth.size(); ++i) {
    if (!given.teeth[i].number && place == static_cast<double>(i + 1)) return i;
  }
  throw ArgumentError("no tooth is named \"" + given.headline + "\"; there are " +
                      detail::listing(known));
}

}  // namespace detail

GivenFile::GivenFile(std::vector<std::byte> bytes)
    : bytes_(std::move(bytes)), sha256_(sha256_hex(std::span<const std::byte>(bytes_))) {}

GivenFile GivenFile::known_by(std::string_view digest) {
  constexpr std::size_t digits = 64;
  if (digest.size() != digits ||
      digest.find_first_not_of("0123456789abcdef") != std::string_view::npos) {
    throw ArgumentError("expected a SHA-256 of 64 hexadecimal digits");
  }
  GivenFile file;
  file.sha256_ = digest;
  return file;
}

std::string AsText<Mask>::write(const Mask& mask) {
  std::string text = std::to_string(mask.x) + "," + std::to_string(mask.y) + "," +
                     std::to_string(mask.width) + "," + std::to_string(mask.height) + ":";
  std::size_t run = 0;
  bool inside = false;
  for (const std::uint8_t value : mask.inside) {
    if ((value != 0) != inside) {
      text += std::to_string(run) + ",";
      run = 0;
      inside = !inside;
    }
    ++run;
  }
  return text + std::to_string(run);
}

Mask AsText<Mask>::read(std::string_view text) {
  const auto wrong = [] {
    return ArgumentError("expected a mask as x,y,width,height:runs, the runs filling it");
  };
  std::vector<std::size_t> numbers;
  std::size_t at = 0;
  while (at <= text.size()) {
    const std::size_t end = std::min(text.find_first_of(",:", at), text.size());
    std::size_t number = 0;
    const auto [stopped, failed] = std::from_chars(text.data() + at, text.data() + end, number);
    if (failed != std::errc() || stopped != text.data() + end) throw wrong();
    const bool head = numbers.size() == 3;
    if (end < text.size() && (text[end] == ':') != head) throw wrong();
    numbers.push_back(number);
    at = end + 1;
  }
  if (numbers.size() < 5) throw wrong();
  Mask mask{numbers[0], numbers[1], numbers[2], numbers[3], {}};
  if (mask.width > limits::photo_pixels || mask.height > limits::photo_pixels ||
      mask.width * mask.height > limits::photo_pixels) {
    throw wrong();
  }
  const std::size_t size = mask.width * mask.height;
  mask.inside.reserve(size);
  for (std::size_t i = 4; i < numbers.size(); ++i) {
    if (numbers[i] > size - mask.inside.size()) throw wrong();
    mask.inside.insert(mask.inside.end(), numbers[i], i % 2 == 0 ? 0 : 1);
  }
  if (mask.inside.size() != size) throw wrong();
  return mask;
}

bool is_tooth_number(int number) {
  const int quadrant = number / 10;
  const int place = number % 10;
  const bool deciduous = quadrant >= 5;
  return quadrant >= 1 && quadrant <= 8 && place >= 1 && place <= (deciduous ? 5 : 8);
}

ToothKind tooth_kind(int number) {
  if (!is_tooth_number(number)) {
    throw ArgumentError(std::to_string(number) +
                        " is no tooth in ISO 3950: give 11 to 48, or 51 to 85 for a deciduous one");
  }
  constexpr int last_anterior = 3;  // incisors and the canine
  return number % 10 <= last_anterior ? ToothKind::anterior : ToothKind::posterior;
}

std::vector<CaseTooth> teeth_of(const std::vector<Reading>& readings) {
  std::vector<CaseTooth> teeth;
  const bool zoned = std::any_of(readings.begin(), readings.end(),
                                 [](const Reading& reading) { return !reading.zone.empty(); });
  for (const Reading& reading : readings) {
    const std::string name = zoned ? reading.label : "";
    auto tooth = detail::find_by(teeth, name, &CaseTooth::name);
    if (tooth == teeth.end()) tooth = teeth.insert(teeth.end(), {.name = name});
    tooth->readings.push_back(reading);
  }
  return teeth;
}

void check_case(const Case& given) {
  if (given.teeth.empty())
    throw ArgumentError("a case needs a tooth: one to find in its photo, or readings");
  for (std::size_t i = 0; i < given.teeth.size(); ++i) {
    const std::string name = detail::tooth_name(given, i);
    check_tooth(given, given.teeth[i], name);
    for (std::size_t j = 0; j < i; ++j) {
      const bool same_number =
          given.teeth[i].number && given.teeth[i].number == given.teeth[j].number;
      if (same_number || name == detail::tooth_name(given, j)) {
        throw ArgumentError("two teeth are called \"" + name + "\"; give each its own name");
      }
    }
  }
  (void)detail::headline_of(given);
  if (given.aperture) check(*given.aperture, "the aperture");
  detail::check_has_card(given);
  if (given.tabs) check_tab_set(*given.tabs);
  for (const TabInPhoto& one : given.tabs_in_photo) {
    const auto of_name = [&](const auto& tab) { return tab == one.tab; };
    const auto& tabs = given.tabs->tabs;
    if (std::none_of(tabs.begin(), tabs.end(), [&](const Tab& tab) { return of_name(tab.name); })) {
      throw ArgumentError("the tab set has no tab named \"" + one.tab + "\"");
    }
    if (std::count_if(given.tabs_in_photo.begin(), given.tabs_in_photo.end(),
                      [&](const TabInPhoto& other) { return of_name(other.tab); }) > 1) {
      throw ArgumentError("tab \"" + one.tab + "\" is pointed at twice; give each tab one box");
    }
  }
  for (const TabInPhoto& one : given.tabs_in_photo) {
    for (std::size_t i = 0; i < given.teeth.size(); ++i) {
      if (!points_into(given.teeth[i].at, one.box)) continue;
      throw ArgumentError("the box of tab \"" + one.tab + "\" lies on " +
                          detail::tooth_name(given, i) +
                          "; draw it within the tab, and point at the tooth");
    }
  }
  if (given.restoration) check_restoration(*given.restoration);
}

}  // namespace mamelon
