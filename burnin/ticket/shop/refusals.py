"""Why the shop file or its logo cannot be used, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class ShopRefusal(ReasonCode):
    """What a shop file says or names."""

    LOGO_KIND = "refused_shop_logo_kind", "file"
    THERE_ALREADY = "refused_shop_there_already", "file"
    LOGO_ENTITIES = "refused_shop_logo_entities", "file"
    NO_LOGO = "refused_shop_no_logo", "file"
    NO_TIME_ZONE = "refused_shop_no_time_zone", "file", "name"
