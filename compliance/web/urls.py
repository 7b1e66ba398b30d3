"""Addresses of the pages, feature by feature."""

from __future__ import annotations

from compliance.web import (
    accounts,
    cycle,
    emergency,
    exceptions,
    home,
    imports,
    labels,
    products,
    referrals,
    rules,
    runs,
    serving,
    today,
    treat,
    treat_history,
    treat_result,
)

urlpatterns = [
    *accounts.urls,
    *home.urls,
    *emergency.urls,
    *today.urls,
    *treat.urls,
    *treat_history.urls,
    *treat_result.urls,
    *cycle.urls,
    *serving.urls,
    *labels.urls,
    *products.urls,
    *exceptions.urls,
    *runs.urls,
    *referrals.urls,
    *rules.urls,
    *imports.urls,
]
