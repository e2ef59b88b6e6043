#include "mamelon/population.h"

#include <array>
#include <cmath>

#include "base/listing.h"
#include "shade/sample.h"

namespace mamelon {

Population population_of(std::string name, std::span<const Reading> readings) {
  if (readings.empty()) throw ArgumentError("a population needs at least one reading");
  std::vector<Lab> teeth;
  teeth.reserve(readings.size());
  Mat3 reading_error{};
  for (const Reading& reading : readings) {
    check_same_viewing(reading.viewing, readings.front().viewing,
                       "reading '" + reading.label + "'");
    teeth.push_back(reading.lab.value);
    reading_error =
        add(reading_error, scale(reading.lab.random, 1 / static_cast<double>(readings.size())));
  }
  Population population =
      population_of(std::move(name), std::move(teeth), readings.front().viewing);
  population.reading_error = reading_error;
  return population;
}

Population population_of(std::string name, std::vector<Lab> teeth, const Viewing& viewing) {
  if (teeth.empty()) throw ArgumentError("a population needs at least one reading");
  for (std::size_t i = 0; i < teeth.size(); ++i) {
    const Lab& lab = teeth[i];
    if (!std::isfinite(lab.l) || !std::isfinite(lab.a) || !std::isfinite(lab.b)) {
      throw ArgumentError("reading " + std::to_string(i + 1) +
                          " of the population has a colour that is not finite");
    }
  }
  const std::string note =
      detail::counted(teeth.size(), "reading", "readings") + " of the user's own";
  return {.name = std::move(name),
          .teeth = std::move(teeth),
          .viewing = viewing,
          .reading_error = {},
          .generated = false,
          .note = note};
}

ToothPrior prior_of(const Population& population) {
  if (population.teeth.size() < 10)
    throw ArgumentError("a prior needs a population of at least 10 teeth, not " +
                        std::to_string(population.teeth.size()));
  const auto count = static_cast<double>(population.teeth.size());
  ToothPrior prior{.name = population.name};
  for (const Lab& lab : population.teeth)
    prior.mean = {prior.mean.l + lab.l / count, prior.mean.a + lab.a / count,
                  prior.mean.b + lab.b / count};
  for (const Lab& lab : population.teeth) {
    const Vec3 d{lab.l - prior.mean.l, lab.a - prior.mean.a, lab.b - prior.mean.b};
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j) prior.covariance[i][j] += d[i] * d[j] / (count - 1);
  }
  return prior;
}

ToothPrior generated_prior() {
  static const ToothPrior prior = prior_of(generated_population(viewing_from_string("D65/2")));
  return prior;
}

Population generated_population(const Viewing& viewing, std::size_t count, std::uint64_t seed) {
  if (count == 0) throw ArgumentError("a population needs at least one tooth");
  // Means by thirds, cervical to incisal: O'Brien, Hemmendinger, Boenke et al. 1997, as tabulated
  // by Joiner 2004, J Dent 32 Suppl 1:3 (from memory).
  constexpr std::array<Lab, 3> means{Lab{72.6, 1.5, 18.4}, Lab{72.4, 1.2, 16.2},
                                     Lab{71.4, 0.9, 12.8}};
  // Standard deviations between people: an assumption, a sixth to a quarter of the range of
  // natural teeth that papers print (L* 55–90, a* −2 to 8, b* 5–35, from memory).
  constexpr Vec3 sd{4.5, 1.3, 4.0};
  // Correlations as if age alone tied the coordinates: r(age, L*) −0.674, r(age, C*) 0.417 give
  // L*–b* −0.28; a* follows b* by the same reasoning with r(age, h) −0.468 (1361 people; Gómez-Polo
  // et al., correlation of natural tooth colour with ageing in the Spanish population).
  constexpr double l_b = -0.28;
  constexpr double l_a = -0.32;
  constexpr double a_b = 0.2;
  const Mat3 covariance{{{sd[0] * sd[0], l_a * sd[0] * sd[1], l_b * sd[0] * sd[2]},
                         {l_a * sd[0] * sd[1], sd[1] * sd[1], a_b * sd[1] * sd[2]},
                         {l_b * sd[0] * sd[2], a_b * sd[1] * sd[2], sd[2] * sd[2]}}};
  const Mat3 root = detail::lower_root(covariance);

  Population population{.name = "generated anterior teeth",
                        .teeth = {},
                        .viewing = viewing,
                        .reading_error = {},
                        .generated = true,
                        .note = {}};
  detail::Generator random(seed);
  while (population.teeth.size() < count) {
    const Lab& mean = means[population.teeth.size() % means.size()];
    const Vec3 d = multiply(root, Vec3{random.normal(), random.normal(), random.normal()});
    const Lab tooth{mean.l + d[0], mean.a + d[1], mean.b + d[2]};
    const bool natural = tooth.l >= 55 && tooth.l <= 90 && tooth.a >= -2 && tooth.a <= 8 &&
                         tooth.b >= 5 && tooth.b <= 35;
    if (natural) population.teeth.push_back(tooth);
  }
  population.note =
      "generated, not measured: published means of the thirds of natural teeth with assumed "
      "spreads; read teeth of your own for figures you can rely on";
  const std::string name = to_string(viewing);
  if (name != "D65/2" && name != "C/2")
    population.note +=
        "; the published means are for C or D65 and 2°, taken over to " + name + " as they are";
  return population;
}

}  // namespace mamelon
