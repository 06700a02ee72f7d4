"""Build the manual that is shipped with farface: ``python -m manual``; the pages themselves lie in docs."""
