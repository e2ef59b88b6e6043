#pragma once
// SHA-256 (FIPS 180-4) of bytes that come piece by piece.

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string>

namespace mamelon::detail {

class Sha256 {
 public:
  using State = std::array<std::uint32_t, 8>;
  using Rounds = void (*)(State& state, const std::byte* bytes, std::size_t blocks);

  // By the processor's own instructions where it has them.
  Sha256();
  // By what every processor can do, for tests.
  [[nodiscard]] static Sha256 portable();

  void take(std::span<const std::byte> bytes);
  // 64 lower-case hexadecimal digits; ends the sum.
  [[nodiscard]] std::string hex();

 private:
  explicit Sha256(Rounds rounds) : rounds_(rounds) {}
  static constexpr std::size_t block = 64;

  Rounds rounds_;
  // The first 32 bits of the fractional parts of the square roots of the first eight primes.
  State state_{0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
               0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
  std::array<std::byte, block> waiting_{};  // bytes that do not fill a block yet
  std::size_t waits_ = 0;
  std::uint64_t taken_ = 0;
};

}  // namespace mamelon::detail
