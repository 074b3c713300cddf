"""The pages, one blueprint a section. A view is three moves: read the request, call a verb, answer."""
