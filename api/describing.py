"""How a caller proves who they are, for the OpenAPI description."""

from __future__ import annotations

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension


class TokenScheme(OpenApiAuthenticationExtension):
    target_class = "api.auth.TokenAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        return {"type": "http", "scheme": "bearer", "description": "A token made with manage.py token create."}


class BrowserScheme(OpenApiAuthenticationExtension):
    target_class = "api.auth.BrowserSession"
    name = "browser"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        return {"type": "apiKey", "in": "cookie", "name": "sessionid", "description": "The signed-in browser; changes need the CSRF token."}
