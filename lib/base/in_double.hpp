// How distributions are computed.
#pragma once

#include <boost/math/policies/policy.hpp>

namespace sievecloth {

/// In double, which is finer than anything that is said of them: what Boost would compute in long double prepares its constants at
/// every start. A policy of its own, so that a program that uses Boost as well keeps Boost's.
using InDouble = boost::math::policies::policy<boost::math::policies::promote_double<false>>;

}  // namespace sievecloth
