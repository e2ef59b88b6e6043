// A fixed amount of one kernel's work: instruction_kernels NAME. The guard takes the difference of
// two sizes, so that start-up does not count.

#include <cstdint>
#include <cstdlib>
#include <iostream>
#include <string>
#include <vector>

#include "mamelon/batch.h"

#include "random_lab.h"

namespace {

using namespace mamelon;

template <class T>
void difference(const std::vector<T>& a, const std::vector<T>& b, std::vector<T>& de) {
  de00_rows<T>(LabRows<T>::interleaved(a), LabRows<T>::interleaved(b), de, {.threads = 1});
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::cerr << "instruction_kernels NAME REPEATS\n";
    return 2;
  }
  const std::string name = argv[1];
  const int repeats = std::atoi(argv[2]);
  constexpr std::size_t rows = 4096;
  const auto a = bench::tooth_colours<float>(rows, 1);
  const auto b = bench::tooth_colours<float>(rows, 2);
  const std::vector<double> wide_a(a.begin(), a.end());
  const std::vector<double> wide_b(b.begin(), b.end());
  std::vector<float> de(rows);
  std::vector<double> wide_de(rows);
  std::vector<std::uint32_t> index(rows);
  std::vector<float> lab(3 * rows);
  const std::vector<std::uint8_t> rgb(3 * rows, 180);
  for (int i = 0; i < repeats; ++i) {
    if (name == "de00_float") {
      difference(a, b, de);
    } else if (name == "de00_double") {
      difference(wide_a, wide_b, wide_de);
    } else if (name == "nearest_of_16") {
      nearest_rows<float>(LabRows<float>::interleaved(a),
                          LabRows<float>::interleaved(std::span(b).first(48)), index, de,
                          {.threads = 1});
    } else if (name == "lab_from_srgb8") {
      lab_from_srgb8(rgb, lab, 1);
    } else {
      std::cerr << "unknown kernel " << name << '\n';
      return 2;
    }
  }
}
