// A program outside the project: uses the public headers alone and checks one published value.
#include <cmath>
#include <cstdio>

#include <mamelon/mamelon.h>

int main() {
  // Sharma, Wu, Dalal 2005, Color Res Appl 30:21–30, Table 1, pair 1.
  const double de = mamelon::de00({50.0, 2.6772, -79.7751}, {50.0, 0.0, -82.7485});
  std::printf("mamelon %s: de00 = %.4f\n", std::string(mamelon::library_version()).c_str(), de);
  return std::fabs(de - 2.0425) < 5e-5 ? 0 : 1;
}
