"""The lessons as notebooks in the browser, for those who want cells of their own: JupyterLite beside the pages."""
