#pragma once
// Photons through a slab over a backing, one by one.
//
// By reciprocity an eye along the normal under even light is a beam along the normal whose light is
// gathered from all directions.

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace mamelon::bench {

// xoshiro256++ (Blackman and Vigna 2019), seeded by splitmix64.
class Random {
 public:
  explicit Random(std::uint64_t seed) {
    for (std::uint64_t& word : state_) {
      seed += 0x9e3779b97f4a7c15ULL;
      std::uint64_t z = seed;
      z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
      z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
      word = z ^ (z >> 31);
    }
  }
  // Above 0, up to 1.
  double next() {
    const auto turn = [](std::uint64_t x, int k) { return (x << k) | (x >> (64 - k)); };
    const std::uint64_t out = turn(state_[0] + state_[3], 23) + state_[0];
    const std::uint64_t t = state_[1] << 17;
    state_[2] ^= state_[0];
    state_[3] ^= state_[1];
    state_[1] ^= state_[2];
    state_[0] ^= state_[3];
    state_[2] ^= t;
    state_[3] = turn(state_[3], 45);
    return (static_cast<double>(out >> 11) + 1) * 0x1p-53;
  }

 private:
  std::array<std::uint64_t, 4> state_{};
};

struct Slab {
  double scattering = 1;  // µs, per thickness
  double g = 0;
  double n = 1.5;
  bool gap = false;  // a smooth lower face with air under it, else optical contact
};

struct Exit {
  bool out = false;
  double path = 0;
  int bounces = 0;  // off the backing
  double distance = 0;
};

inline double fresnel_inside(double mu, double n) {
  const double sine2 = n * n * (1 - mu * mu);
  if (sine2 >= 1) return 1;
  const double outside = std::sqrt(1 - sine2);
  const double rs = (n * mu - outside) / (n * mu + outside);
  const double rp = (mu - n * outside) / (mu + n * outside);
  return (rs * rs + rp * rp) / 2;
}

struct Photon {
  double x = 0, y = 0, z = 0;
  double ux = 0, uy = 0, uz = 1;

  void turn(double cosine, double angle) {
    const double sine = std::sqrt(std::max(0.0, 1 - cosine * cosine));
    const double c = std::cos(angle);
    const double s = std::sin(angle);
    const double across = std::sqrt(std::max(0.0, 1 - uz * uz));
    if (across < 1e-6) {
      ux = sine * c;
      uy = sine * s;
      uz = uz > 0 ? cosine : -cosine;
      return;
    }
    const double vx = sine * (ux * uz * c - uy * s) / across + ux * cosine;
    const double vy = sine * (uy * uz * c + ux * s) / across + uy * cosine;
    uz = -sine * c * across + uz * cosine;
    ux = vx;
    uy = vy;
  }
  // Evenly over the hemisphere above the lower face, by projected solid angle.
  void leave_evenly(double u, double angle) {
    uz = -std::sqrt(u);
    const double sine = std::sqrt(1 - u);
    ux = sine * std::cos(angle);
    uy = sine * std::sin(angle);
  }
};

inline constexpr int most_bounces = 200;
inline constexpr double longest_path = 3000;

// The light that comes up through the backing's side of an air gap: refracted even light.
inline void enter_evenly(Photon& p, double n, Random& random) {
  for (;;) {
    const double u = random.next();
    const double outside = std::sqrt(u);
    const double inside = std::sqrt(1 - (1 - u) / (n * n));
    if (random.next() >= fresnel_inside(inside, n)) {
      const double angle = 2 * std::numbers::pi * random.next();
      p.uz = -inside;
      const double sine = std::sqrt(1 - outside * outside) / n;
      p.ux = sine * std::cos(angle);
      p.uy = sine * std::sin(angle);
      return;
    }
  }
}

inline Exit follow(const Slab& slab, double r_outside, Random& random) {
  Photon p;
  Exit exit;
  for (;;) {
    double step = -std::log(random.next()) / slab.scattering;
    for (;;) {
      const double to_face = p.uz > 0 ? (1 - p.z) / p.uz : p.uz < 0 ? p.z / -p.uz : 1e300;
      const double go = std::min(step, to_face);
      p.x += go * p.ux;
      p.y += go * p.uy;
      p.z += go * p.uz;
      exit.path += go;
      if (step < to_face) break;
      step -= to_face;
      if (p.uz < 0) {
        p.z = 0;
        if (random.next() >= fresnel_inside(-p.uz, slab.n)) {
          exit.out = true;
          exit.distance = std::hypot(p.x, p.y);
          return exit;
        }
        p.uz = -p.uz;
        continue;
      }
      p.z = 1;
      if (slab.gap && random.next() < fresnel_inside(p.uz, slab.n)) {
        p.uz = -p.uz;
        continue;
      }
      ++exit.bounces;
      if (slab.gap) {
        // Between face and backing: back off the face again with the share of even light.
        while (random.next() < r_outside) ++exit.bounces;
        enter_evenly(p, slab.n, random);
      } else {
        p.leave_evenly(random.next(), 2 * std::numbers::pi * random.next());
      }
      if (exit.bounces > most_bounces) return exit;
    }
    if (exit.path > longest_path) return exit;
    double cosine = 2 * random.next() - 1;
    if (slab.g > 0) {
      const double part = (1 - slab.g * slab.g) / (1 + slab.g * cosine);
      cosine = (1 + slab.g * slab.g - part * part) / (2 * slab.g);
    }
    p.turn(cosine, 2 * std::numbers::pi * random.next());
  }
}

// Diffuse reflectance from outside, by Simpson's rule on the cosine's square.
inline double diffuse_outside(double n) {
  double sum = 0;
  constexpr int steps = 2000;
  for (int i = 0; i <= steps; ++i) {
    const double u = static_cast<double>(i) / steps;
    const double r = fresnel_inside(std::sqrt(1 - (1 - u) / (n * n)), n);
    sum += r * (i == 0 || i == steps ? 1 : i % 2 == 1 ? 4 : 2);
  }
  return sum / (3 * steps);
}

inline double power(double base, int exponent) {
  return exponent == 0 ? 1 : base == 0 ? 0 : std::pow(base, exponent);
}

}  // namespace mamelon::bench
