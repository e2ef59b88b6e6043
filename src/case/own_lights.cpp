// Which lights a case holds that are the person's own.

#include <algorithm>
#include <string>
#include <vector>

#include "mamelon/case.h"
#include "mamelon/error.h"

#include "base/find.h"

namespace mamelon {
namespace {

// Whether the text that stands for a value in a document tells all of it.
template <class T>
bool is_told(const T& value) {
  try {
    return AsText<T>::read(AsText<T>::write(value)) == value;
  } catch (const ArgumentError&) {
    return false;
  }
}

void add(const Illuminant& light, std::vector<OwnLight>& lights) {
  const auto known = detail::find_by(lights, light.name(), &OwnLight::name);
  if (known == lights.end()) {
    const auto names = standard_illuminant_names();
    if (std::find(names.begin(), names.end(), light.name()) != names.end()) {
      throw ArgumentError("a light is called '" + light.name() +
                          "', but is not the CIE's; give it a name of its own");
    }
    lights.push_back({light.name(), light.power()});
  } else if (known->power != light.power()) {
    throw ArgumentError("two lights are called '" + light.name() +
                        "'; give each a name of its own");
  }
}

void find_lights(const Type& type, const void* value, std::vector<OwnLight>& lights) {
  if (&type == &type_of<Viewing>()) {
    const auto& viewing = *static_cast<const Viewing*>(value);
    if (!is_told(viewing)) add(viewing.illuminant, lights);
  } else if (&type == &type_of<Illuminant>()) {
    const auto& light = *static_cast<const Illuminant*>(value);
    if (!is_told(light)) add(light, lights);
  } else if (type.kind == Kind::list) {
    for (std::size_t i = 0; i < type.size(value); ++i) {
      find_lights(type.item(), type.at(value, i), lights);
    }
  } else if (type.kind == Kind::optional) {
    if (const void* held = type.held(value)) find_lights(type.item(), held, lights);
  } else if (type.kind == Kind::object) {
    for (const Member& m : type.members) find_lights(m.type(), m.get(value), lights);
  }
}

}  // namespace

std::vector<OwnLight> own_lights(const Case& given) {
  std::vector<OwnLight> lights = given.lights;
  find_lights(type_of<Case>(), &given, lights);
  return lights;
}

std::string digest_of(const Case& given) {
  Case listed = given;
  listed.lights = own_lights(given);
  return digest_of<Case>(listed);
}

}  // namespace mamelon
