// Precision in which distributions are computed.
#pragma once

#include <boost/math/policies/policy.hpp>

namespace sievecloth {

/// In double, which is finer than any result requires: in long double, Boost would initialise constants at every start. A policy of
/// its own, so that a program that also uses Boost keeps Boost's default.
using InDouble = boost::math::policies::policy<boost::math::policies::promote_double<false>>;

}  // namespace sievecloth
