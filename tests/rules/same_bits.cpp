// Prints a digest of the bits that colour arithmetic gives, for tests/rules/same_bits.sh.

#include <array>
#include <bit>
#include <cstdint>
#include <cstdio>

#include "mamelon/colour.h"
#include "mamelon/difference.h"

namespace {

std::uint64_t state = 0x9E3779B97F4A7C15;

// SplitMix64 (Steele, Lea, Flood 2014), as a double in [low, high).
double draw(double low, double high) {
  std::uint64_t z = (state += 0x9E3779B97F4A7C15);
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
  z ^= z >> 31;
  return low + (high - low) * (static_cast<double>(z >> 11) * 0x1p-53);
}

std::uint64_t digest = 0xCBF29CE484222325;  // FNV-1a

void add(double value) {
  const auto bits = std::bit_cast<std::uint64_t>(value);
  for (int shift = 0; shift < 64; shift += 8)
    digest = (digest ^ ((bits >> shift) & 0xFF)) * 0x100000001B3;
}

void add(const mamelon::Lab& lab) {
  for (const double x : {lab.l, lab.a, lab.b}) add(x);
}

}  // namespace

int main() {
  using namespace mamelon;
  const Xyz white{0.9504, 1, 1.0888};
  const Xyz other{1.0985, 1, 0.3558};
  for (int i = 0; i < 100000; ++i) {
    const double range = i % 2 == 0 ? 128 : 1e-3;
    const Lab p{draw(0, 100), draw(-range, range), draw(-range, range)};
    Lab q{draw(0, 100), draw(-range, range), draw(-range, range)};
    if (i % 5 == 0) q = {q.l, -p.a, -p.b};
    const SignedDifference parts = de00_parts(p, q, {i % 3 == 0 ? 2.0 : 1.0, 1, 1});
    for (const double x : {parts.de, parts.dl, parts.dc, parts.dh, de76(p, q)}) add(x);
    const Xyz xyz = to_xyz(p, white);
    for (const double x : {xyz.x, xyz.y, xyz.z}) add(x);
    add(to_lab(xyz, white));
    add(to_lab(to_lch(p)));
    add(to_lab(adapt(xyz, white, other, Adaptation::cat16), other));
  }
  std::printf("%016llx\n", static_cast<unsigned long long>(digest));
}
