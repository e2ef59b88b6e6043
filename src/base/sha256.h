#pragma once
// SHA-256 (FIPS 180-4) of bytes that come piece by piece.

#include <cstddef>
#include <memory>
#include <span>
#include <string>

namespace mamelon::detail {

class Sha256 {
 public:
  Sha256();
  void take(std::span<const std::byte> bytes);
  // 64 lower-case hexadecimal digits; ends the sum.
  [[nodiscard]] std::string hex();

 private:
  struct Free {
    void operator()(void* context) const;
  };
  std::unique_ptr<void, Free> context_;
};

}  // namespace mamelon::detail
