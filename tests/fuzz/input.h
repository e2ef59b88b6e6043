#pragma once
// Bytes of a fuzz input as text and as numbers in a stated range.

#include <cstddef>
#include <cstdint>
#include <cstring>
#include <string_view>

namespace fuzz {

inline std::string_view text(const std::uint8_t* data, std::size_t size) {
  return {reinterpret_cast<const char*>(data), size};
}

class Numbers {
 public:
  Numbers(const std::uint8_t* data, std::size_t size) : data_(data), left_(size) {}
  // Evenly spaced in [low, high]; low when the input is used up.
  double between(double low, double high) {
    std::uint32_t raw = 0;
    const std::size_t taken = left_ < sizeof raw ? left_ : sizeof raw;
    if (taken > 0) std::memcpy(&raw, data_, taken);
    data_ += taken;
    left_ -= taken;
    return low + (high - low) * (static_cast<double>(raw) / 4294967295.0);
  }

 private:
  const std::uint8_t* data_;
  std::size_t left_;
};

}  // namespace fuzz
