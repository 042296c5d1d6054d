"""Content-Security-Policy from `SECURE_CSP`; named as in Django 6, which brings it, so that this file can go then."""

from collections.abc import Callable, Mapping, Sequence

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase

HEADER = "Content-Security-Policy"


def build_policy(policy: Mapping[str, Sequence[str]]) -> str:
    """`{"img-src": ["'self'", "data:"]}` -> `img-src 'self' data:`."""
    return "; ".join(f"{directive} {' '.join(sources)}" for directive, sources in policy.items())


class ContentSecurityPolicyMiddleware:
    """Adds the policy to every answer that does not carry one."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response
        self.policy = build_policy(settings.SECURE_CSP)

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        response.headers.setdefault(HEADER, self.policy)
        return response
