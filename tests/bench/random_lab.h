#pragma once
// Random colours for measurements.

#include <cstddef>
#include <cstdint>
#include <random>
#include <vector>

namespace mamelon::bench {

// Interleaved L*, a*, b* within the range of natural teeth, with margin.
template <class T>
std::vector<T> tooth_colours(std::size_t count, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> l(55, 90);
  std::uniform_real_distribution<double> a(-3, 10);
  std::uniform_real_distribution<double> b(5, 40);
  std::vector<T> lab(3 * count);
  for (std::size_t i = 0; i < count; ++i) {
    lab[3 * i] = static_cast<T>(l(random));
    lab[3 * i + 1] = static_cast<T>(a(random));
    lab[3 * i + 2] = static_cast<T>(b(random));
  }
  return lab;
}

// The same values as three columns, one after the other.
template <class T>
std::vector<T> columns_of(const std::vector<T>& lab) {
  const std::size_t count = lab.size() / 3;
  std::vector<T> columns(lab.size());
  for (std::size_t i = 0; i < lab.size(); ++i) columns[i % 3 * count + i / 3] = lab[i];
  return columns;
}

}  // namespace mamelon::bench
