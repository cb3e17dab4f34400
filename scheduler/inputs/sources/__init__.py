"""A folder or a workbook as one source of a site's tables."""
