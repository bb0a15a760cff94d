"""One file a page; `dashboards.app` names them."""
