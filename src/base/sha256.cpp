#include "base/sha256.h"

#include <algorithm>
#include <bit>

#if defined(__x86_64__)
#include <cpuid.h>
#include <immintrin.h>
#endif

namespace mamelon::detail {
namespace {

using State = std::array<std::uint32_t, 8>;
constexpr std::size_t block = 64;

// The first 32 bits of the fractional parts of the cube roots of the first 64 primes.
alignas(16) constexpr std::array<std::uint32_t, 64> k{
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

void rounds(State& state, const std::byte* bytes, std::size_t blocks) {
  for (; blocks > 0; --blocks, bytes += block) {
    std::array<std::uint32_t, 64> w{};
    for (std::size_t i = 0; i < 16; ++i)
      for (std::size_t j = 0; j < 4; ++j)
        w[i] = w[i] << 8U | std::to_integer<std::uint32_t>(bytes[4 * i + j]);
    for (std::size_t i = 16; i < 64; ++i) {
      const std::uint32_t a = w[i - 15];
      const std::uint32_t b = w[i - 2];
      w[i] = w[i - 16] + (std::rotr(a, 7) ^ std::rotr(a, 18) ^ a >> 3U) + w[i - 7] +
             (std::rotr(b, 17) ^ std::rotr(b, 19) ^ b >> 10U);
    }
    auto [a, b, c, d, e, f, g, h] = state;
    for (std::size_t i = 0; i < 64; ++i) {
      const std::uint32_t t1 = h + (std::rotr(e, 6) ^ std::rotr(e, 11) ^ std::rotr(e, 25)) +
                               ((e & f) ^ (~e & g)) + k[i] + w[i];
      const std::uint32_t t2 =
          (std::rotr(a, 2) ^ std::rotr(a, 13) ^ std::rotr(a, 22)) + ((a & b) ^ (a & c) ^ (b & c));
      h = g, g = f, f = e, e = d + t1, d = c, c = b, b = a, a = t1 + t2;
    }
    const State added{a, b, c, d, e, f, g, h};
    for (std::size_t i = 0; i < 8; ++i) state[i] += added[i];
  }
}

#if defined(__x86_64__)
bool has_instructions() {
  unsigned a = 0;
  unsigned b = 0;
  unsigned c = 0;
  unsigned d = 0;
  constexpr unsigned sha_bit = 1U << 29U;
  return __builtin_cpu_supports("sse4.1") && __get_cpuid_count(7, 0, &a, &b, &c, &d) != 0 &&
         (b & sha_bit) != 0;
}

// Four rounds a step; the state stands as ABEF and CDGH, as the instructions want it.
__attribute__((target("sha,sse4.1"))) void rounds_by_instructions(State& state,
                                                                  const std::byte* bytes,
                                                                  std::size_t blocks) {
  const __m128i order = _mm_set_epi64x(0x0c0d0e0f08090a0b, 0x0405060700010203);
  const auto load = [](const void* from) __attribute__((target("sha,sse4.1"))) {
    return _mm_loadu_si128(static_cast<const __m128i*>(from));
  };
  const __m128i cdab = _mm_shuffle_epi32(load(state.data()), 0xB1);
  const __m128i efgh = _mm_shuffle_epi32(load(state.data() + 4), 0x1B);
  __m128i abef = _mm_alignr_epi8(cdab, efgh, 8);
  __m128i cdgh = _mm_blend_epi16(efgh, cdab, 0xF0);
  for (; blocks > 0; --blocks, bytes += block) {
    const __m128i abef_before = abef;
    const __m128i cdgh_before = cdgh;
    __m128i w[4] = {};  // NOLINT(modernize-avoid-c-arrays): std::array drops its alignment
    for (std::size_t i = 0; i < 16; ++i) {
      __m128i& now = w[i % 4];
      if (i < 4) {
        now = _mm_shuffle_epi8(load(bytes + 16 * i), order);
      } else {
        const __m128i last = w[(i + 3) % 4];
        now = _mm_sha256msg1_epu32(now, w[(i + 1) % 4]);
        now = _mm_add_epi32(now, _mm_alignr_epi8(last, w[(i + 2) % 4], 4));
        now = _mm_sha256msg2_epu32(now, last);
      }
      const __m128i with_k = _mm_add_epi32(now, load(k.data() + 4 * i));
      cdgh = _mm_sha256rnds2_epu32(cdgh, abef, with_k);
      abef = _mm_sha256rnds2_epu32(abef, cdgh, _mm_shuffle_epi32(with_k, 0x0E));
    }
    abef = _mm_add_epi32(abef, abef_before);
    cdgh = _mm_add_epi32(cdgh, cdgh_before);
  }
  const __m128i feba = _mm_shuffle_epi32(abef, 0x1B);
  const __m128i dchg = _mm_shuffle_epi32(cdgh, 0xB1);
  const auto store = [](void* to, __m128i value) __attribute__((target("sha,sse4.1"))) {
    _mm_storeu_si128(static_cast<__m128i*>(to), value);
  };
  store(state.data(), _mm_blend_epi16(feba, dchg, 0xF0));
  store(state.data() + 4, _mm_alignr_epi8(dchg, feba, 8));
}
#endif

using Rounds = void (*)(State&, const std::byte*, std::size_t);

std::array<std::uint8_t, 32> digest(std::span<const std::byte> bytes, Rounds rounds_of) {
  // The same of the square roots of the first eight primes.
  State state{0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
              0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
  const std::size_t whole = bytes.size() / block;
  rounds_of(state, bytes.data(), whole);
  // What is left, a one bit, zeros, and the length in bits.
  std::array<std::byte, 2 * block> tail{};
  const auto rest = bytes.subspan(whole * block);
  std::copy(rest.begin(), rest.end(), tail.begin());
  tail[rest.size()] = std::byte{0x80};
  const std::size_t blocks = rest.size() + 9 > block ? 2 : 1;
  const std::uint64_t bits = std::uint64_t{bytes.size()} * 8;
  for (std::size_t i = 0; i < 8; ++i)
    tail[blocks * block - 1 - i] = static_cast<std::byte>(bits >> (8 * i) & 0xFFU);
  rounds_of(state, tail.data(), blocks);
  std::array<std::uint8_t, 32> out{};
  for (std::size_t i = 0; i < 32; ++i)
    out[i] = static_cast<std::uint8_t>(state[i / 4] >> (24 - 8 * (i % 4)) & 0xFFU);
  return out;
}

}  // namespace

std::array<std::uint8_t, 32> sha256(std::span<const std::byte> bytes) {
#if defined(__x86_64__)
  static const bool instructions = has_instructions();
  if (instructions) return digest(bytes, rounds_by_instructions);
#endif
  return digest(bytes, rounds);
}

std::array<std::uint8_t, 32> sha256_portable(std::span<const std::byte> bytes) {
  return digest(bytes, rounds);
}

}  // namespace mamelon::detail
