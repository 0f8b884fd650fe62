// What can still become of a criterion while readings of a planned number come in.
#pragma once

#include "judgement/criteria.hpp"

namespace sievecloth {

/// `step` is coarser than the edition asks of an instrument; never where it asks nothing.
bool is_coarse(const Case& the_case, Length step);

/// The plan, which there must be, holds more apertures of the direction than were measured.
bool more_to_come(const Case& the_case, Direction direction);

/// The mean, s or the share of a direction cannot recover within its limit, whatever the rest of the planned readings are.
/// Claimed only where the plan reaches the required count, so that the full sample will be decided. Resolution apart. The limit of
/// s and the rule of the share must be there.
bool mean_is_unrecoverable(const Case& the_case, Direction direction);
bool spread_is_unrecoverable(const Case& the_case, Direction direction);
bool share_is_unrecoverable(const Case& the_case, Direction direction);

/// The direction is rejected already: neither the rest of the planned readings nor their resolution, which may turn out coarse, nor
/// a limit that does not count, can leave it open. Without a plan only an aperture above w + X is final.
bool average_is_rejected(const Case& the_case, Direction direction);
bool maximum_is_rejected(const Case& the_case, Direction direction);
bool spread_is_rejected(const Case& the_case, Direction direction);
bool share_is_rejected(const Case& the_case, Direction direction);

}  // namespace sievecloth
