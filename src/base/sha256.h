#pragma once
// SHA-256 (FIPS 180-4).

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>

namespace mamelon::detail {

[[nodiscard]] std::array<std::uint8_t, 32> sha256(std::span<const std::byte> bytes);
// The same without the processor's own instructions for it, for tests.
[[nodiscard]] std::array<std::uint8_t, 32> sha256_portable(std::span<const std::byte> bytes);

}  // namespace mamelon::detail
