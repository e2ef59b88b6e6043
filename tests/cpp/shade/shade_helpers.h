#pragma once
// What the tests of this layer share.

#include <limits>
#include <string>

#include "mamelon/tabs.h"

namespace mamelon::test {

inline Viewing d65() {
  return viewing_from_string("D65/2");
}

inline Tab tab(std::string name, const Lab& lab, const Mat3& random = {}, const Mat3& shared = {}) {
  Tab made;
  made.name = std::move(name);
  made.lab.value = lab;
  made.lab.random = random;
  made.lab.shared = shared;
  return made;
}

inline Reading reading(std::string label, const Lab& lab, const Mat3& random = {},
                       const Mat3& shared = {}) {
  Reading made{.label = std::move(label),
               .zone = {},
               .lab = {},
               .reflectance = {},
               .viewing = d65(),
               .count = 1,
               .warnings = {},
               .provenance = {}};
  made.lab.value = lab;
  made.lab.random = random;
  made.lab.shared = shared;
  return made;
}

// Eight invented tabs across the range of teeth.
inline TabSet eight_tabs(const Mat3& random = {}, const Mat3& shared = {}) {
  TabSet set{.name = "eight", .tabs = {}, .viewing = d65(), .provenance = {}};
  set.tabs = {
      tab("flax", {78, 0.2, 13}, random, shared),   tab("oat", {75, 0.9, 15}, random, shared),
      tab("straw", {74, 1.2, 19}, random, shared),  tab("husk", {72, 1.6, 16.5}, random, shared),
      tab("millet", {70, 2.0, 21}, random, shared), tab("malt", {68, 2.8, 18}, random, shared),
      tab("rye", {66, 3.1, 24}, random, shared),    tab("bran", {63, 3.9, 21}, random, shared)};
  return set;
}

}  // namespace mamelon::test
